"""What the tests of this folder share: results and pages to look at, a browser, and TAP.

    check-….py SPATE FOLDER [OUTPUT]

FOLDER holds the scenarios; files that are worth keeping (screenshots) go to OUTPUT.
"""

import atexit
import json
import os
import pathlib
import subprocess
import sys
import tempfile

import devtools

SPATE = os.path.realpath(sys.argv[1])
FOLDER = os.path.realpath(sys.argv[2])
OUTPUT = os.path.realpath(sys.argv[3]) if len(sys.argv) > 3 else None
# How many times longer things may take: more than 1 on a busy or instrumented machine.
SLOWNESS = float(os.environ.get("SPATE_SLOWNESS", "3"))
JUDGE, READER = (pathlib.Path(__file__).with_name(name).read_text(encoding="utf-8")
                 for name in ("judge.js", "reader.js"))

SECTIONS = ["answer", "comparison", "map", "losses", "airtime", "hops", "replay", "scenario",
            "model", "cautions"]
PLOTS = ["delivery", "delivery-in-time", "latency", "load", "losses-bearer", "losses-receiver",
         "airtime", "hops"]

count = 0
failures = 0
scratch = tempfile.TemporaryDirectory()


# ---- TAP

def check(name, wrongs):
    """One line of TAP: what is wrong, as a list of texts."""
    global count, failures
    count += 1
    failures += bool(wrongs)
    print(f"{'not ok' if wrongs else 'ok'} {count} - {name}", flush=True)
    for wrong in wrongs[:12]:
        print("# " + str(wrong).replace("\n", "\n# "))
    if len(wrongs) > 12:
        print(f"# and {len(wrongs) - 12} more")


def check_true(name, good, why=""):
    check(name, [] if good else [why or "it is not so"])


def check_equal(name, got, wanted):
    check(name, [] if got == wanted else [f"got    {got!r}", f"wanted {wanted!r}"])


def tell(text):
    print(f"# {text}", flush=True)


def end():
    print(f"1..{count}")
    sys.exit(1 if failures else 0)


def need_browser():
    """Skips the whole test where there is no browser."""
    if devtools.find() is None:
        print("1..0 # SKIP chromium is not installed")
        sys.exit(0)


def browser():
    """A browser that ends with the test."""
    started = devtools.Browser(limit_s=60 * SLOWNESS)
    atexit.register(started.close)
    return started


# ---- results and their pages

def spate(*arguments):
    done = subprocess.run([SPATE, *arguments], capture_output=True, text=True, check=False,
                          stdin=subprocess.DEVNULL)
    if done.returncode != 0:
        sys.exit(f"spate {' '.join(arguments)}: {done.stderr}")
    return done.stdout


def file(name):
    return os.path.join(scratch.name, name)


def read(path):
    with open(path, encoding="utf-8") as text:
        return json.load(text)


def write(path, result):
    with open(path, "w", encoding="utf-8") as text:
        json.dump(result, text)
    return path


def simulate(command, scenario, *arguments):
    """Runs a scenario of this folder; the path of its result."""
    path = file("-".join((command, scenario, *arguments)) + ".json")
    spate(command, os.path.join(FOLDER, f"{scenario}.yaml"), "--format", "json", "--quiet",
          "--output", path, *arguments)
    return path


def make_page(result, *options, name="page"):
    """The path of the page that shows a result."""
    path = file(f"{name}.html")
    spate("report", result, "--output", path, *options)
    return path


def names_of(result):
    """All names of a result, each once: variants, traffics, bearers, bridges, nodes."""
    names = dict.fromkeys(variant["name"] for variant in result["variants"])
    for variant in result["variants"]:
        names.update(dict.fromkeys(row["traffic"] for row in variant["measures"]
                                   if "traffic" in row))
    for variant in result["detail"]["variants"]:
        for kind in ("bearers", "bridges", "nodes"):
            names.update(dict.fromkeys(one["name"] for one in variant[kind]))
    return list(names)


def renamed(value, names):
    """The result with other names; keys and all other strings stay."""
    if isinstance(value, dict):
        return {key: renamed(part, names) for key, part in value.items()}
    if isinstance(value, list):
        return [renamed(part, names) for part in value]
    return names.get(value, value) if isinstance(value, str) else value


def address(path):
    return pathlib.Path(path).as_uri()


# ---- a page in the browser

def open_page(page, path):
    """Opens a page from disk, and waits until it says that it is ready."""
    page.open(address(path))
    if not page.wait("document.documentElement.dataset.ready === 'yes'", 10 * SLOWNESS):
        check("the page gets ready", page.exceptions + [said for _, said in page.console] +
              page.violations + ["document.documentElement.dataset.ready is not 'yes'"])


def judge(page, what, *arguments):
    """What a function of judge.js finds wrong with the page."""
    return page.evaluate(f"({JUDGE}\n).{what}(...{json.dumps(arguments)})")


def reader(page, what, *arguments):
    """What a function of reader.js reads in the page."""
    return page.evaluate(f"({READER}\n).{what}(...{json.dumps(arguments)})")


def went_wrong(page, path):
    """All that a page does which a page that stands alone must not."""
    wrongs = [f"console: {level}: {text}" for level, text in page.console]
    wrongs += [f"exception: {text}" for text in page.exceptions]
    wrongs += [f"policy violated: {text}" for text in page.violations]
    wrongs += [f"request: {url}" for url in page.requests
               if url != address(path) and not url.startswith("data:")]
    return wrongs
