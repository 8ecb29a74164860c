"""A year joined and summed by DuckDB: what month end computes, as far as tables can say it.

beside.py FOLDER, with the tables of the year in it. Prints seconds, the peak of memory in MiB, and the sums.
Reading the tables is not counted, as making the year is not counted for the other.
"""

import resource
import sys
import time

import duckdb

folder = sys.argv[1]
with open(f"{folder}/until") as file:
    until = file.read().strip()
db = duckdb.connect()
db.execute("SET threads = 2")
for table in ("deals", "invoices", "payments", "tiers"):
    db.execute(f"CREATE TABLE {table} AS FROM read_csv('{folder}/{table}.csv', header = true)")
db.execute("CREATE TABLE paid_by AS SELECT row_number() OVER () AS id, * FROM payments")
db.execute(f"CREATE MACRO last_day() AS DATE '{until}'")

STEPS = """
-- Invoices under the numbers that a payer may write: their own, and that of their quote.
CREATE TEMP TABLE known AS
    SELECT number AS invoice, regexp_replace(number, '[^0-9A-Z]', '', 'g') AS name FROM invoices
    UNION ALL SELECT number, regexp_replace(quote, '[^0-9A-Z]', '', 'g') FROM invoices;

-- What a payment names: a creditor reference, or a number among its words.
CREATE TEMP TABLE named AS
    SELECT id, CASE WHEN reference <> ''
        THEN substr(regexp_replace(upper(reference), '[^0-9A-Z]', '', 'g'), 5)
        ELSE regexp_replace(regexp_extract(upper(words), '[QR]-[0-9]{4}-[0-9]+'), '[^0-9A-Z]', '', 'g') END AS name
    FROM paid_by WHERE booked <= last_day();
CREATE TEMP TABLE by_name AS SELECT id, invoice FROM named JOIN known USING (name);

-- The others: by who paid how much, near the day, where there is only one such invoice.
CREATE TEMP TABLE left_over AS
    SELECT i.number, i.buyer, i.issued, i.gross FROM invoices i
    ANTI JOIN by_name n ON n.invoice = i.number;
CREATE TEMP TABLE by_amount AS
    SELECT p.id, l.number AS invoice
    FROM (SELECT * FROM paid_by ANTI JOIN by_name USING (id)) p
    JOIN left_over l ON l.buyer = p.party AND l.gross = p.minor AND l.issued <= p.booked + 7
    QUALIFY count(*) OVER (PARTITION BY p.id) = 1;
CREATE TEMP TABLE applied AS
    SELECT id, invoice, minor, booked, party FROM (FROM by_name UNION ALL FROM by_amount) JOIN paid_by USING (id);

-- Double entry, in the order of days.
CREATE TEMP TABLE journal AS
    SELECT issued AS posted, number AS document, buyer AS party, 'invoice' AS event,
        unnest(['receivable', 'revenue', 'vat']) AS account, unnest([gross, -net, -tax]) AS minor
    FROM invoices WHERE issued <= last_day()
    UNION ALL
    SELECT booked, invoice || '/' || id, party, 'payment',
        unnest(['bank', 'receivable']), unnest([minor, -minor]) FROM applied
    ORDER BY posted, document;

-- Accounts by party and month, each with what it opens with.
CREATE TEMP TABLE accounts AS
    SELECT *, sum(moved) OVER (PARTITION BY party ORDER BY month) AS closing FROM (
        SELECT party, date_trunc('month', posted) AS month,
            sum(minor) FILTER (event = 'invoice') AS invoiced, sum(minor) FILTER (event = 'payment') AS paid,
            sum(minor) AS moved
        FROM journal WHERE account = 'receivable' GROUP BY ALL);

-- What is not as agreed.
CREATE TEMP TABLE wrong AS
    SELECT i.number, i.net - d.net AS amount FROM invoices i JOIN deals d ON d.number = i.quote
    WHERE i.net <> d.net;
CREATE TEMP TABLE unpaid AS
    SELECT i.number, i.gross - coalesce(sum(a.minor), 0) AS open FROM invoices i
    LEFT JOIN applied a ON a.invoice = i.number
    WHERE i.due < last_day() GROUP BY i.number, i.gross HAVING open > 0;
CREATE TEMP TABLE missing AS
    SELECT d.number FROM deals d ANTI JOIN invoices i ON i.quote = d.number WHERE d.invoice_by <= last_day();

-- Margins by partner, family, route and month.
CREATE TEMP TABLE margins AS
    SELECT partner, family, date_trunc('month', invoice_by) AS month, GROUPING(partner, family, month) AS kind,
        count(*) AS quotes, sum(end_net) AS end_net, sum(end_net - net) AS shares, sum(net) AS net, sum(cost) AS cost
    FROM deals WHERE invoice_by <= last_day() GROUP BY GROUPING SETS ((partner), (family), (month), ());

-- Bonuses: the step that the turnover of the year so far has reached counts for all of it.
CREATE TEMP TABLE turnover AS
    SELECT partner, month, sum(net) OVER (PARTITION BY partner ORDER BY month) AS turnover FROM (
        SELECT d.partner, date_trunc('month', i.issued) AS month, sum(i.net) AS net
        FROM invoices i JOIN deals d ON d.number = i.quote WHERE d.partner IS NOT NULL GROUP BY ALL);
CREATE TEMP TABLE due AS
    SELECT t.partner, t.month,
        round(t.turnover * max_by(s.percent, s.from_minor) :: DECIMAL(6, 3) / 100, 0) AS due
    FROM turnover t JOIN tiers s ON s.partner = t.partner AND s.from_minor <= t.turnover
    GROUP BY t.partner, t.month, t.turnover;
"""

began = time.perf_counter()
db.execute(STEPS)
taken = time.perf_counter() - began

end_net, net, cost = db.execute("SELECT end_net, net, cost FROM margins WHERE kind = 7").fetchone()
# Every partner is a route, and to come direct is one.
(routes,) = db.execute("SELECT count(*) FROM margins WHERE kind = 3").fetchone()
(wrong,) = db.execute("SELECT count(*) FROM wrong").fetchone()
(unpaid,) = db.execute("SELECT count(*) FROM unpaid").fetchone()
(owed,) = db.execute("SELECT sum(minor) FROM journal WHERE account = 'receivable'").fetchone()
(bonus,) = db.execute("SELECT sum(last) FROM (SELECT max_by(due, month) AS last FROM due GROUP BY partner)").fetchone()
bonus = int(bonus or 0)
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
print(f"{taken:.2f} {peak}", end_net, net, cost, routes, wrong, unpaid, owed - bonus, bonus)
