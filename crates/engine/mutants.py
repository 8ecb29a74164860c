#!/usr/bin/env python3
"""Changes the engine in every way that cargo-mutants knows, and says which changes no test notices.

    crates/engine/mutants.py [PREFIX...]      such as price.rs order/ (below crates/engine/src); all of them without

All changes are written into one build, each in its function behind a number that the environment chooses, so that a
change costs no compilation but only the tests that are run until one of them fails. It needs cargo-mutants (27.1) and
works in target/mutants. PROPTEST_CASES says how many cases the laws run (64 without it), JOBS how many changes are tried
at once (2). A law is random: what is missed at few cases may be caught at more. Not built in this way are constant
functions and those that return `impl Trait`; they are listed at the end as not tried.
"""
import bisect
import collections
import json
import os
import pathlib
import re
import resource
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

ROOT = pathlib.Path(__file__).resolve().parents[2]
WORK = ROOT / "target" / "mutants"
TREE = WORK / "tree"
SOURCE = "crates/engine/src/"
CHOSEN = "EVENFARE_MUTANT"
ENV = {**os.environ, "CARGO_TARGET_DIR": str(WORK / "target"), "CARGO_INCREMENTAL": "0", "CARGO_PROFILE_DEV_DEBUG": "0"}
ENV.setdefault("PROPTEST_CASES", "64")
# Package, test target and which of its tests: the quickest first.
TESTS = [
    ("evenfare-engine", "evenfare_engine", ""),
    ("evenfare", "published", ""),
    ("evenfare-files", "edges", ""),
    ("evenfare-files", "format", ""),
    ("evenfare-files", "job", ""),
    ("evenfare-files", "snippets", ""),
    ("evenfare-reconcile", "quotes", ""),
    ("evenfare", "who_sees_what", ""),
    ("evenfare", "laws", "by_hand"),
    ("evenfare", "laws", "law_of_working"),
    ("evenfare", "second", ""),
    ("evenfare", "laws", ""),
]
SECONDS = 120  # of one test binary, of which none takes a quarter
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
    """What git knows of the tree, as it lies there."""
    known = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    files = run(*known, cwd=ROOT, stdout=subprocess.PIPE).stdout.split("\0")
    for file in (file for file in files if (ROOT / file).is_file()):
        (TREE / file).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / file, TREE / file)


def write(mutants, without):
    """The engine with all changes but those; answers where each is: file, first and last line, number."""
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
            body = text.index("{", start + named)
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
    lib = TREE / SOURCE / "lib.rs"
    lib.write_text(lib.read_text() + IN_FORCE)
    return where


def refused(mutants, where):
    """Those that the compiler does not take; and all of a function that has to be constant."""
    check = ["cargo", "check", "-p", "evenfare-engine", "--features", "serde", "--message-format", "json"]
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


def binaries():
    """The tests of each target, built once."""
    packages = [word for package in dict.fromkeys(package for package, _, _ in TESTS) for word in ("-p", package)]
    targets = dict.fromkeys(target for _, target, _ in TESTS if target != "evenfare_engine")
    targets = ["--lib", *[word for target in targets for word in ("--test", target)]]
    build = ["cargo", "test", "--no-run", "--message-format", "json", *packages, *targets]
    built = {}
    for line in run(*build, cwd=TREE, stdout=subprocess.PIPE).stdout.splitlines():
        message = json.loads(line) if line.startswith("{") else {}
        if message.get("executable") and message["profile"]["test"]:
            folder = pathlib.Path(message["manifest_path"]).parent
            built[message["target"]["name"]] = (message["executable"], folder)
    return [(f"{target} {only}".strip(), *built[target], only) for _, target, only in TESTS]


def tried(number, tests):
    """Which test notices it: nothing where none does."""
    def bound():
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
        resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    for name, binary, folder, only in tests:
        command = [binary, *([only] if only else [])]
        ended = subprocess.run(command, cwd=folder, env={**ENV, CHOSEN: str(number)}, preexec_fn=bound, **quiet)
        if ended.returncode:
            return name
    return None


def main():
    copy()
    command = ["cargo", "mutants", "-p", "evenfare-engine", "--list", "--json"]
    listed = json.loads(run(*command, cwd=ROOT, stdout=subprocess.PIPE).stdout)
    mutants = {n: mutant for n, mutant in enumerate(listed, 1) if mutant["function"]}
    not_tried = {n for n, mutant in mutants.items() if "impl " in mutant["function"]["return_type"]}
    not_compiled = set()
    while True:
        where = write(mutants, not_tried | not_compiled)
        wrong, constant = refused(mutants, where)
        if not wrong | constant:
            break
        not_compiled |= wrong
        not_tried |= constant
    wanted = tuple(SOURCE + prefix for prefix in sys.argv[1:] or [""])
    left = [n for n in mutants if n not in not_tried | not_compiled and mutants[n]["file"].startswith(wanted)]
    tests = binaries()
    noticed = tried(0, tests)
    if noticed:
        sys.exit(f"{noticed} fails without any change")
    with ThreadPoolExecutor(int(os.environ.get("JOBS", "2"))) as pool:
        found = dict(zip(left, pool.map(lambda n: tried(n, tests), left)))
    missed = [n for n in left if found[n] is None]
    for n in missed:
        print("missed:", mutants[n]["name"])
    for n in sorted(not_tried):
        print("not tried:", mutants[n]["name"])
    print(f"{len(listed)} changes listed, {len(not_compiled)} do not compile, {len(not_tried)} not tried;")
    print(f"of {len(left)} tried, {len(left) - len(missed)} noticed, {len(missed)} missed")


if __name__ == "__main__":
    main()
