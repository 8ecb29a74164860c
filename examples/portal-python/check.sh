#!/usr/bin/env bash
# Runs the portal against a server of its own, and holds what it prints against the figures in the README.
set -euo pipefail
cd "$(dirname "$0")"
root=$(cd ../.. && pwd)
export PYTHONDONTWRITEBYTECODE=1

work=$(mktemp -d)
server=
trap '[ -z "$server" ] || kill "$server" 2>/dev/null || true; rm -rf "$work"' EXIT
fail() { printf 'portal-python: %s\n' "$@" >&2; exit 1; }

python3 -m venv "$work/venv" || fail "python3 with venv is needed (Debian: apt-get install python3-venv)"
"$work/venv/bin/pip" install --quiet --disable-pip-version-check -r requirements.txt
python=$work/venv/bin/python
PYTHON=$python ./stubs.sh

cargo build --quiet --locked --manifest-path "$root/Cargo.toml" --bin evenfare
target=$(cargo metadata --manifest-path "$root/Cargo.toml" --no-deps --locked --format-version 1 |
  "$python" -c 'import json, sys; print(json.load(sys.stdin)["target_directory"])')
evenfare() { NO_COLOR=1 "$target/debug/evenfare" "$@" --database "$work/evenfare.db"; }
caller() { evenfare caller add "$1" --role "$2" --format json | "$python" -c 'import json, sys; print(json.load(sys.stdin)["token"])'; }

evenfare tariff publish "$root/examples/bakery/tariff" >/dev/null
office=$(caller front-desk office)
olom=$(caller portal-olom partner:P-OLOM)
woergl=$(caller portal-woergl partner:P-WOERGL)

# In the process list stands the server itself, so that it can be stopped.
NO_COLOR=1 "$target/debug/evenfare" serve --database "$work/evenfare.db" --listen 127.0.0.1:0 \
  >"$work/listening" 2>"$work/log" &
server=$!
for _ in $(seq 100); do
  grep -q '^listening on ' "$work/listening" && break
  kill -0 "$server" 2>/dev/null || fail "the server did not start" "$(cat "$work/log")"
  sleep 0.1
done
EVENFARE_URL=$(sed -n 's/^listening on //p' "$work/listening")
[ -n "$EVENFARE_URL" ] || fail "the server does not listen"
export EVENFARE_URL

# The office issues the job by the partner's route, and once more to the customer directly.
numbers=$(EVENFARE_TOKEN=$office "$python" - <<'PY'
import os, sys
sys.path.insert(0, "stubs")
import grpc
from google.protobuf import json_format
from evenfare.v1 import category_pb2, job_pb2, office_service_pb2
from evenfare.v1.office_service_pb2_grpc import OfficeServiceStub

job = json_format.Parse(open("jobs/mixer.json", encoding="utf-8").read(), job_pb2.Job())
direct, through = job_pb2.Job(), job_pb2.Job()
direct.CopyFrom(job)
through.CopyFrom(job)
through.route.add(partner="P-BRZEG").takes_over.works.append(category_pb2.WORK_LEG_IN)
through.route.add(partner="P-OLOM")
with grpc.insecure_channel(os.environ["EVENFARE_URL"].removeprefix("http://")) as channel:
    office = OfficeServiceStub(channel)
    for request_id, job in (("own", through), ("foreign", direct)):
        request = office_service_pb2.IssueQuoteRequest(request_id=request_id, job=job)
        bearer = (("authorization", f"Bearer {os.environ['EVENFARE_TOKEN']}"),)
        print(office.IssueQuote(request, metadata=bearer, timeout=10).quote.number)
PY
)
read -r own foreign <<<"$(echo $numbers)"

# portal TOKEN ARGS...: what it printed stands in $work/out and $work/err.
portal() {
  local token=$1
  shift
  EVENFARE_TOKEN=$token "$python" -W error portal.py "$@" >"$work/out" 2>"$work/err"
}
works() { portal "$@" || fail "portal.py ${*:2} failed:" "$(cat "$work/err")"; cat "$work/out" >>"$work/all"; }
refused() { if portal "$@"; then fail "portal.py ${*:2} was not refused:" "$(cat "$work/out")"; fi; }
# says FILE LINE...: each line is there, whatever its spaces are worth.
says() {
  local file=$work/$1 line
  shift
  for line in "$@"; do
    sed 's/  */ /g' "$file" | grep -qxF -- "$line" || fail "expected the line '$line' in:" "$(cat "$file")"
  done
}

works "$olom" price jobs/mixer.json
says out "End price, net 2 125.00" "You charge your customer, net 2 125.00" "VAT AE, Reverse charge 0.00" \
  "You charge your customer, gross 2 125.00" "VAT 23 % in his country, owed by your customer 488.75" \
  "You pay P-BRZEG, net 1 858.39" "You keep 266.61"
# His customer is never to be charged the VAT that the customer owes himself.
! grep -q "2 613.75" "$work/out" || fail "VAT that the customer owes is added to what he is charged:" "$(cat "$work/out")"
cp "$work/out" "$work/shown"
works "$olom" quotes
grep -q "^$own  *open " "$work/out" || fail "his own quote $own is not in the list:" "$(cat "$work/out")"
! grep -q "$foreign" "$work/out" || fail "a foreign quote $foreign is in the list:" "$(cat "$work/out")"
works "$olom" quote "$own"
says out "$own, open" "End price, net 2 125.00" "You keep 266.61"

# The papers of it: what his customer is sent, and what is his alone.
mkdir "$work/papers"
works "$olom" document "$own" --folder "$work/papers" --language de
works "$olom" document "$own" --folder "$work/papers" --kind partner --format xml
for file in "$own-1-quote-de.pdf" "$own-1-partner-P-OLOM.xml"; do
  [ -s "$work/papers/$file" ] || fail "expected $file among:" "$(ls "$work/papers")"
done
head -c 5 "$work/papers/$own-1-quote-de.pdf" | grep -q '^%PDF-' || fail "the quote is no PDF"
grep -q '1858.39' "$work/papers/$own-1-partner-P-OLOM.xml" || fail "his own price is not in his XML"
refused "$olom" document "$foreign" --folder "$work/papers"
says err "NOT_FOUND NO_SUCH_QUOTE: there is no such quote"

# Neither the workshop's cost and what it keeps, nor the other partner's share, in any form.
for secret in 1208.57 1148.05 1269.09 346.53 1555.10 303.29 120857 34653 155510 30329; do
  ! tr -d ' ' <"$work/all" | grep -qF "$secret" || fail "the portal shows $secret, which is not his to know:" "$(cat "$work/all")"
done

# By another route the end price is the same, and a stranger is on none of the quotes.
works "$woergl" price jobs/mixer.json
says out "End price, net 2 125.00"
works "$woergl" quotes
says out "no quotes"

# Whether a foreign number exists cannot be learnt.
refused "$olom" quote "$foreign"
says err "NOT_FOUND NO_SUCH_QUOTE: there is no such quote"
mv "$work/err" "$work/foreign"
refused "$olom" quote Q-2026-00077
cmp -s "$work/err" "$work/foreign" || fail "two answers that should be one:" "$(cat "$work/foreign" "$work/err")"

# All mistakes come at once, each with its field.
sed -e 's/"countryCode": "SK"/"countryCode": "sk"/' -e 's/"declaredValue": "2600"/"declaredValue": "26,00"/' jobs/mixer.json >"$work/wrong.json"
refused "$olom" price "$work/wrong.json"
for line in 'INVALID_ARGUMENT INVALID_INPUT' '  job.customer.country' '  job.units[0].declared_value'; do
  grep -qF -- "$line" "$work/err" || fail "expected '$line' in:" "$(cat "$work/err")"
done
cp "$work/err" "$work/mistakes"
refused nobody quotes
grep -q '^UNAUTHENTICATED' "$work/err" || fail "expected UNAUTHENTICATED:" "$(cat "$work/err")"

cat "$work/shown" "$work/mistakes"
echo "portal-python: all as it should be"
