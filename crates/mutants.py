#!/usr/bin/env python3
"""Changes a crate in every way that cargo-mutants knows, and says which changes no test notices.

    crates/mutants.py CRATE [PREFIX...]      such as engine price.rs order/ (below crates/CRATE/src); all of it without

CRATE is engine or reconcile. All changes are written into one build, each in its function behind a number that the
environment chooses, so that a change costs no compilation but only the tests that are run until one of them fails. It
needs cargo-mutants (27.1), works in target/mutants, and says what is missed as soon as it is. PROPTEST_CASES says how
many cases the laws run (64 without it), JOBS how many changes are tried at once (2). A law is random: what is missed at
few cases may be caught at more. Not built in this way are constant functions and those that return `impl Trait`; they
are listed at the end as not tried.

Changes that no test can notice stand in crates/mutants.known with the reason. They are not told as missed; what stands
there and was noticed, or is no change any more, is told to be taken out.

What was found stands in target/mutants/CRATE.found, and a run that was stopped goes on from there: what was noticed is
not tried again while its function stands as it is, what was missed while nothing of the tree is changed.
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
# Package, test target and which of its tests: the quickest first. `lib` are the tests inside the crate.
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
        ("evenfare-reconcile", "lib", ""),
        ("evenfare-reconcile", "cases", ""),
        ("evenfare-reconcile", "laws", ""),
        ("evenfare", "what_if", ""),
        ("evenfare", "commands", "month"),
        ("evenfare", "commands", ""),
    ],
}
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


def copy():
    """What git knows of the tree, as it lies there; answers what all of it is known by."""
    shutil.rmtree(TREE, ignore_errors=True)
    known = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    files = run(*known, cwd=ROOT, stdout=subprocess.PIPE).stdout.split("\0")
    digest = hashlib.sha256()
    for file in sorted(file for file in files if (ROOT / file).is_file()):
        (TREE / file).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / file, TREE / file)
        if not file.startswith("crates/mutants.") and not file.endswith(".md"):
            digest.update(file.encode() + b"\0" + (ROOT / file).read_bytes())
    return digest.hexdigest()


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
    for file, functions in of_files.items():
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
        (TREE / file).write_text(out + text[last:])
    lib = f"crates/{crate}/src/lib.rs"
    written = TREE if lib in of_files else ROOT
    (TREE / lib).write_text((written / lib).read_text() + IN_FORCE)
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


def binaries(crate):
    """The tests of each target, built once."""
    built = {}
    for package in dict.fromkeys(package for package, _, _ in TESTS[crate]):
        targets = dict.fromkeys(target for of, target, _ in TESTS[crate] if of == package)
        targets = [word for target in targets for word in (["--lib"] if target == "lib" else ["--test", target])]
        build = ["cargo", "test", "--no-run", "--message-format", "json", "-p", package, *targets]
        for line in run(*build, cwd=TREE, stdout=subprocess.PIPE).stdout.splitlines():
            message = json.loads(line) if line.startswith("{") else {}
            if message.get("executable") and message["profile"]["test"]:
                target = message["target"]
                name = "lib" if "lib" in target["kind"] else target["name"]
                built[package, name] = (message["executable"], pathlib.Path(message["manifest_path"]).parent)
    tests = ((f"{package} {target} {only}".strip(), package, target, only) for package, target, only in TESTS[crate])
    return [(name, *built[package, target], only) for name, package, target, only in tests]


def fails(number, test, seconds):
    """Whether a test notices a change: by an answer, or because it would not end."""
    def bound():
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
        resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    name, binary, folder, only = test
    command = [binary, *([only] if only else [])]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    ended = subprocess.run(command, cwd=folder, env={**ENV, CHOSEN: str(number)}, preexec_fn=bound, **quiet)
    if ended.returncode in (-signal.SIGXCPU, -signal.SIGKILL):
        return f"{name}, endless"
    return name if ended.returncode else None


def bounds(tests):
    """How long each may take, in seconds of a processor: ten times what it takes without any change."""
    seconds = []
    for test in tests:
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        if fails(0, test, 600):
            sys.exit(f"{test[0]} fails without any change")
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        took = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        print(f"{test[0]}: {took:.1f} s", flush=True)
        seconds.append(5 + int(10 * took))
    return seconds


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
    tree = copy()
    command = ["cargo", "mutants", "-p", f"evenfare-{crate}", "--list", "--json"]
    listed = json.loads(run(*command, cwd=ROOT, stdout=subprocess.PIPE).stdout)
    wanted = tuple(f"crates/{crate}/src/{prefix}" for prefix in prefixes)
    listed = [mutant for mutant in listed if mutant["file"].startswith(wanted)]
    mutants = {n: mutant for n, mutant in enumerate(listed, 1) if mutant["function"]}
    not_tried = {n for n, mutant in mutants.items() if "impl " in mutant["function"]["return_type"]}
    not_compiled = set()
    while True:
        where = write(crate, mutants, not_tried | not_compiled)
        wrong, constant = refused(crate, mutants, where)
        if not wrong | constant:
            break
        not_compiled |= wrong
        not_tried |= constant
    left = [n for n in mutants if n not in not_tried | not_compiled]
    names = {n: known_by(mutants[n]) for n in left}
    found_in = WORK / f"{crate}.found"
    found = {}
    for line in found_in.read_text().splitlines() if found_in.exists() else []:
        name, by, of_tree = json.loads(line)
        if by or of_tree == tree:
            found[name] = by
    lines = (line.strip() for line in KNOWN.read_text().splitlines())
    known = collections.Counter(line for line in lines if line.startswith(wanted))
    tests = binaries(crate)
    seconds = bounds(tests)
    to_try = [n for n in left if names[n] not in found]
    print(f"{len(listed)} changes listed, {len(to_try)} to try", flush=True)

    def tried(number):
        by = next(filter(None, (fails(number, test, most) for test, most in zip(tests, seconds))), None)
        found[names[number]] = by
        with found_in.open("a") as file:
            file.write(json.dumps([names[number], by, tree]) + "\n")
        if by is None and not known[named(mutants[number])]:
            print("missed:", mutants[number]["name"], flush=True)

    with ThreadPoolExecutor(int(os.environ.get("JOBS", "2"))) as pool:
        collections.deque(pool.map(tried, to_try), maxlen=0)
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
