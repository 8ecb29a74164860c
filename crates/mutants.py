#!/usr/bin/env python3
"""Changes a crate in every way that cargo-mutants knows, and says which changes no test notices.

    crates/mutants.py CRATE [PREFIX...]      such as engine price.rs order/ (below crates/CRATE/src); all of it without

CRATE is engine or reconcile. All changes are written into one build, each in its function behind a number that the
environment chooses, so that a change costs no compilation but only tests until one of them fails. All are tried by one
target's tests, what these do not notice by the next one's: first those that noticed the last changes of its file, then
the quick ones, then the others. It needs cargo-mutants (27.1), works in target/mutants, and says at once what a target
does not notice, and how far it is once a minute. PROPTEST_CASES says how many cases the laws run (64 without it), JOBS
how many changes are tried at once (2). A law is random: what is missed at few cases may be caught at more. Not built in
this way are constant functions and those that return `impl Trait`; they are listed at the end as not tried. Places are
tried in the order of the prefixes; an empty one stands for all the rest.

Changes that no test can notice stand in crates/mutants.known with the reason. They are tried last, and not told
as missed; what stands there and was noticed, or is no change any more, is told to be taken out.

What was found stands in target/mutants/CRATE.found, and a run that was stopped goes on from there: what was noticed is
not tried again while its function stands as it is, what does not compile while the crate does, what was missed while
nothing of the tree is changed.
"""
import bisect
import collections
import hashlib
import json
import os
import pathlib
import re
import resource
import shutil
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

ROOT = pathlib.Path(__file__).resolve().parents[1]
WORK = ROOT / "target" / "mutants"
TREE = WORK / "tree"
KNOWN = ROOT / "crates" / "mutants.known"
CHOSEN = "EVENFARE_MUTANT"
# Built apart: cargo knows a package by its path in the workspace, so it took what was built of the copy for the tree's
# own, and of the tree's for the copy's.
ENV = {**os.environ, "CARGO_TARGET_DIR": str(WORK / "target"), "CARGO_INCREMENTAL": "0"}
ENV.setdefault("PROPTEST_CASES", "64")
ENV["PROPTEST_MAX_SHRINK_ITERS"] = "0"  # that a law fails is enough
# What runs in a loop is optimised a little, but for the tests inside the crate, which would be all of it once more;
# overflow and debug assertions are checked all the same.
FAST = [f'profile.dev.package."evenfare-{fast}".opt-level=1' for fast in ("engine", "files", "reconcile")]
# Package, test target and which of its tests, one after the other; `lib` are the tests inside the crate.
TESTS = {
    "engine": [
        ("evenfare-engine", "lib", ""),
        ("evenfare", "published", ""),
        ("evenfare-files", "edges", ""),
        ("evenfare-files", "format", ""),
        ("evenfare-files", "job", ""),
        ("evenfare-files", "snippets", ""),
        ("evenfare-reconcile", "cases", "quotes::"),
        ("evenfare", "who_sees_what", ""),
        ("evenfare", "laws", "by_hand"),
        ("evenfare", "laws", "law_of_working"),
        ("evenfare", "second", ""),
        ("evenfare", "laws", ""),
    ],
    "reconcile": [
        ("evenfare-reconcile", "cases", ""),
        ("evenfare-reconcile", "laws", ""),
        ("evenfare-reconcile", "lib", ""),
        ("evenfare", "what_if", ""),
        ("evenfare", "commands", "month"),
        ("evenfare", "commands", ""),
    ],
}
REFUSED, CONSTANT = "does not compile", "constant"
LATELY = 8
IN_FORCE = f"""
pub(crate) fn mutant_in_force() -> u32 {{
    static N: std::sync::LazyLock<u32> = std::sync::LazyLock::new(|| {{
        std::env::var("{CHOSEN}").ok().and_then(|n| n.parse().ok()).unwrap_or(0)
    }});
    *N
}}
"""


def run(*command, **options):
    return subprocess.run(command, check=True, env=ENV, text=True, **options)


def put(file, content):
    """What stands there already is not written: it would be built again."""
    path = TREE / file
    if not path.is_file() or path.read_bytes() != content:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


def copy(crate):
    """All that git knows of the tree but for the sources of the crate; answers digests of these and of all."""
    known = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    files = run(*known, cwd=ROOT, stdout=subprocess.PIPE).stdout.split("\0")
    files = sorted(file for file in files if (ROOT / file).is_file())
    of_crate, of_tree = hashlib.sha256(), hashlib.sha256()
    for file in files:
        content = (ROOT / file).read_bytes()
        if file.startswith(f"crates/{crate}/src/"):
            of_crate.update(file.encode() + b"\0" + content)
        else:
            put(file, content)
            shutil.copymode(ROOT / file, TREE / file)
        if not file.startswith("crates/mutants.") and not file.endswith(".md"):
            of_tree.update(file.encode() + b"\0" + content)
    listed = set(files)
    for path in list(TREE.rglob("*")):
        if path.is_file() and str(path.relative_to(TREE)) not in listed:
            path.unlink()
    return of_crate.hexdigest(), of_tree.hexdigest()


def block(text, at):
    """Where the body of a function begins, from its name on: a parameter may be taken apart in braces of its own."""
    within = 0
    while within or text[at] != "{":
        within += {"(": 1, ")": -1}.get(text[at], 0)
        at += 1
    return at


def write(crate, mutants, without):
    """The crate with all changes but those; answers where each is: file, first and last line, number."""
    where = []
    of_files = collections.defaultdict(lambda: collections.defaultdict(list))
    for number, mutant in mutants.items():
        span = mutant["function"]["span"]
        key = tuple(span[end][part] for end in ("start", "end") for part in ("line", "column"))
        of_files[mutant["file"]][key].append((number, mutant))
    sources = (ROOT / "crates" / crate / "src").rglob("*.rs")
    for file in (str(path.relative_to(ROOT)) for path in sources):
        functions = of_files[file]
        text = (ROOT / file).read_text()
        starts = [0]
        for line in text.split("\n"):
            starts.append(starts[-1] + len(line) + 1)

        def at(line, column):
            return starts[line - 1] + column - 1

        outer = []  # functions inside others are changed with them
        for key in sorted(functions, key=lambda k: (k[0], k[1], -k[2], -k[3])):
            start, end = at(*key[:2]), at(*key[2:])
            if outer and end <= outer[-1][1]:
                outer[-1][2].extend(functions[key])
            else:
                outer.append((start, end, list(functions[key])))
        out, last = "", 0
        for start, end, inside in outer:
            name = inside[0][1]["function"]["function_name"].split("::")[-1].split("<")[0]
            named = re.search(r"\bfn\s+" + re.escape(name) + r"\b", text[start:end]).end()
            body = block(text, start + named)
            kept = [(number, mutant) for number, mutant in inside if number not in without]
            if not kept:
                continue
            head = re.sub(r"\bconst fn\b", "fn", text[start:body])
            out += text[last:start] + head + "{ match crate::mutant_in_force() {\n"
            for number, mutant in kept:
                span = mutant["span"]
                begins, ends = (at(span[e]["line"], span[e]["column"]) for e in ("start", "end"))
                first = out.count("\n") + 1
                changed = mutant["replacement"]
                if begins > body:
                    changed = f"{text[body + 1:begins]} {changed} {text[ends:end - 1]}"
                out += f"{number} => {{{changed}\n}}\n"
                where.append((file, first, out.count("\n"), number))
            out += "_ => {" + text[body + 1:end - 1] + "}\n} }"
            last = end
        out += text[last:]
        put(file, (out + IN_FORCE if file == f"crates/{crate}/src/lib.rs" else out).encode())
    return where


def refused(crate, mutants, where):
    """Those that the compiler does not take; and all of a function that has to be constant."""
    check = ["cargo", "check", "-p", f"evenfare-{crate}", "--all-features", "--message-format", "json"]
    told = subprocess.run(check, cwd=TREE, env=ENV, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    if told.returncode == 0:
        return set(), set()
    wrong, constant = set(), set()
    for message in (json.loads(line) for line in told.stdout.splitlines() if line.startswith("{")):
        error = message.get("message", {})
        if message.get("reason") != "compiler-message" or error["level"] != "error":
            continue
        for span in error["spans"]:
            spans = [span] + ([span["expansion"]["span"]] if span.get("expansion") else [])
            for place in spans:
                for file, first, last, number in where:
                    if place["file_name"].endswith(file) and first <= place["line_start"] and place["line_end"] <= last:
                        wrong.add(number)
        if (error.get("code") or {}).get("code") == "E0015":
            for span in (span for child in error["children"] for span in child["spans"]):
                later = [(first, n) for file, first, _, n in where if span["file_name"].endswith(file)]
                index = bisect.bisect_right(sorted(later), (span["line_start"], 0))
                function = mutants[sorted(later)[min(index, len(later) - 1)][1]]["function"]["span"]
                constant |= {n for n, mutant in mutants.items() if mutant["function"]["span"] == function}
    if not wrong | constant:
        sys.exit(told.stderr)
    return wrong, constant - wrong


class Tests:
    """Tests of one target, built. Those that are quicker than the average go first; either part may take ten times what
    all of them do."""

    def __init__(self, package, target, only):
        self.name = f"{package} {target} {only}".strip()
        profile = ["profile.dev.debug=false", *(FAST if target != "lib" else [])]
        which = ["--lib"] if target == "lib" else ["--test", target]
        build = ["cargo", "test", "--no-run", "--message-format", "json", "-p", package, *which]
        build += [word for setting in profile for word in ("--config", setting)]
        self.binary = None
        for line in subprocess.run(build, cwd=TREE, env=ENV, text=True, stdout=subprocess.PIPE).stdout.splitlines():
            message = json.loads(line) if line.startswith("{") else {}
            if message.get("message", {}).get("level") == "error":
                print(message["message"]["rendered"], file=sys.stderr)
            if message.get("executable") and message["profile"]["test"]:
                self.binary, self.folder = message["executable"], pathlib.Path(message["manifest_path"]).parent
        if not self.binary:
            sys.exit(f"{self.name} is not built")
        self.seconds = 600  # of a processor
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        failed, took = self.run(0, [only] if only else [])
        if failed:
            sys.exit(f"{self.name} fails without any change: {failed}")
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        self.seconds = 5 + int(10 * seconds)
        mean = sum(took.values()) / max(1, len(took))
        self.parts = [[test for test in took if (took[test] <= mean) == is_quick] for is_quick in (True, False)]
        self.lately = collections.defaultdict(list)
        print(f"{self.name}: {len(took)} tests, {seconds:.1f} s", flush=True)

    def run(self, number, tests, *exact):
        """The first test that fails, or what else shows that something did; and how long each took."""
        def bound():
            resource.setrlimit(resource.RLIMIT_CPU, (self.seconds, self.seconds + 1))
            resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30))
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        options = ["-Z", "unstable-options", "--fail-fast", "--report-time", "--format", "json"]
        command = [self.binary, *options, *exact, *tests]
        env = {**ENV, CHOSEN: str(number), "RUSTC_BOOTSTRAP": "1"}  # for its options alone
        pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.DEVNULL}
        ended = subprocess.run(command, cwd=self.folder, env=env, preexec_fn=bound, **pipes)
        lines = ended.stdout.decode(errors="replace").splitlines()
        lines = (line for line in lines if line.startswith('{ "type": "test"') and line.endswith("}"))
        told = [json.loads(line) for line in lines]
        took = {one["name"]: one.get("exec_time", 0) for one in told if one["event"] == "ok"}
        if ended.returncode == 0:
            return None, took
        if ended.returncode in (-signal.SIGXCPU, -signal.SIGKILL):
            return "endless", took
        return next((one["name"] for one in told if one["event"] == "failed"), "ended by itself"), took

    def noticed(self, number, file):
        """By what these tests notice a change of that file, if they do."""
        for tests in (list(self.lately[file]), *self.parts):
            failed, _ = self.run(number, tests, "--exact") if tests else (None, None)
            if failed:
                if any(failed in part for part in self.parts):
                    lately = [failed, *(test for test in self.lately[file] if test != failed)]
                    self.lately[file] = lately[:LATELY]
                return f"{self.name}, {failed}"
        return None


def known_by(mutant):
    """The change by the text of its function, wherever that stands by now."""
    lines = (ROOT / mutant["file"]).read_text().split("\n")
    start, end = mutant["function"]["span"]["start"]["line"], mutant["function"]["span"]["end"]["line"]
    span = mutant["span"]
    at = [(span[end]["line"] - start, span[end]["column"]) for end in ("start", "end")]
    told = [mutant["file"], lines[start - 1:end], at, mutant["replacement"]]
    return hashlib.sha256(json.dumps(told).encode()).hexdigest()[:20]


def named(mutant):
    """As it stands in KNOWN: the change without its place, for that moves."""
    return re.sub(r":\d+:\d+: ", ": ", mutant["name"], count=1)


def main():
    if len(sys.argv) < 2 or sys.argv[1] not in TESTS:
        sys.exit(__doc__)
    crate, prefixes = sys.argv[1], sys.argv[2:] or [""]
    sources, tree = copy(crate)
    command = ["cargo", "mutants", "-p", f"evenfare-{crate}", "--list", "--json"]
    listed = json.loads(run(*command, cwd=ROOT, stdout=subprocess.PIPE).stdout)
    wanted = tuple(f"crates/{crate}/src/{prefix}" for prefix in prefixes)
    listed = [mutant for mutant in listed if mutant["file"].startswith(wanted)]
    mutants = {n: mutant for n, mutant in enumerate(listed, 1) if mutant["function"]}
    names = {n: known_by(mutant) for n, mutant in mutants.items()}
    found_in = WORK / f"{crate}.found"
    found = {}
    for line in found_in.read_text().splitlines() if found_in.exists() else []:
        name, by, of = json.loads(line)
        if of == (sources if by in (REFUSED, CONSTANT) else tree if by is None else of):
            found[name] = by

    def note(n, by, of):
        found[names[n]] = by
        with found_in.open("a") as file:
            file.write(json.dumps([names[n], by, of]) + "\n")

    def that_are(by):
        return {n for n in mutants if found.get(names[n]) == by}

    impl = {n for n, mutant in mutants.items() if "impl " in mutant["function"]["return_type"]}
    while True:
        where = write(crate, mutants, impl | that_are(REFUSED) | that_are(CONSTANT))
        wrong, constant = refused(crate, mutants, where)
        if not wrong | constant:
            break
        for n in wrong:
            note(n, REFUSED, sources)
        for n in constant:
            note(n, CONSTANT, sources)
    not_compiled, not_tried = that_are(REFUSED), impl | that_are(CONSTANT)
    left = [n for n in mutants if n not in not_tried | not_compiled]
    lines = (line.strip() for line in KNOWN.read_text().splitlines())
    known = collections.Counter(line for line in lines if line.startswith(wanted))
    place = {n: [mutants[n]["file"].startswith(prefix) for prefix in wanted].index(True) for n in left}
    to_try = [n for n in left if names[n] not in found]
    to_try.sort(key=lambda n: (named(mutants[n]) in known, place[n], n))
    print(f"{len(listed)} changes listed, {len(to_try)} to try", flush=True)

    def tried(one, n):
        by = one.noticed(n, mutants[n]["file"])
        if by:
            note(n, by, tree)
        elif not known[named(mutants[n])]:
            print(f"not noticed by {one.name}:", mutants[n]["name"], flush=True)
        return by is None

    last = time.monotonic()
    for one in TESTS[crate] if to_try else []:
        one, all_of_it = Tests(*one), to_try
        to_try = []
        with ThreadPoolExecutor(int(os.environ.get("JOBS", "2"))) as pool:
            for count, (n, is_left) in enumerate(zip(all_of_it, pool.map(lambda n: tried(one, n), all_of_it)), 1):
                to_try += [n] if is_left else []
                if time.monotonic() - last > 60:
                    last = time.monotonic()
                    print(f"{count} of {len(all_of_it)} tried, {len(to_try)} left", file=sys.stderr, flush=True)
    for n in to_try:
        note(n, None, tree)
    missed = [n for n in left if found[names[n]] is None]
    counts = collections.Counter(named(mutants[n]) for n in missed)
    for name in known:
        if counts[name] < known[name]:
            print(f"noticed or gone, {known[name] - counts[name]} of {known[name]} in {KNOWN.name}: {name}")
    unknown = [n for n in missed if counts[named(mutants[n])] > known[named(mutants[n])]]
    endless = [n for n in left if (found[names[n]] or "").endswith(", endless")]
    for n in unknown:
        print("missed:", mutants[n]["name"])
    for n in sorted(not_tried):
        print("not tried:", mutants[n]["name"])
    not_held = len(listed) - len(left) - len(not_compiled)
    print(f"{len(listed)} changes listed, {len(not_compiled)} do not compile, {not_held} not tried;")
    print(f"of {len(left)} tried, {len(left) - len(missed)} noticed ({len(endless)} endless), "
          f"{len(missed) - len(unknown)} known to change nothing, {len(unknown)} missed")


if __name__ == "__main__":
    main()
