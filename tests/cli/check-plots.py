#!/usr/bin/env python3
"""check-plots.py SPATE SCENARIOS - single pictures of a result: --plot NAME=FILE.svg

Python's own XML parser reads them; their words have to tell the figures of the result.
"""

import json
import os
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as tree

from tap import check, end

SPATE, FOLDER = os.path.realpath(sys.argv[1]), os.path.realpath(sys.argv[2])
DEMO = os.path.join(FOLDER, "tarn-hollow.yaml")
SHORT = ["--replications", "3", "--set", "run.duration=30 min", "--variant", "people-first"]
NAMES = ["delivery", "delivery-in-time", "latency", "load", "losses", "difference"]
SVG = "{http://www.w3.org/2000/svg}"


def spate(*arguments):
    return subprocess.run([SPATE, *arguments], capture_output=True, text=True, check=False,
                          stdin=subprocess.DEVNULL)


def fails(name, status, words, *arguments):
    done = spate("compare", DEMO, *SHORT, *arguments)
    check(name, done.returncode == status and words in done.stderr and done.stdout == "",
          f"{done.returncode}: {done.stderr}")


def check_pictures(folder):
    paths = {name: os.path.join(folder, f"{name}.svg") for name in NAMES}
    asked = [word for name in NAMES for word in ("--plot", f"{name}={paths[name]}")]
    done = spate("compare", DEMO, *SHORT, "--format", "json", *asked)
    result = json.loads(done.stdout)
    check("the result is what it is without", done.stdout ==
          spate("compare", DEMO, *SHORT, "--format", "json").stdout, done.stderr)
    first = {}
    for name in NAMES:
        with open(paths[name], encoding="utf-8") as file:
            first[name] = file.read()
        root = tree.fromstring(first[name])
        words = root.find(f"{SVG}desc").text
        check(f"{name} is a drawing with a title, and tells what it shows", root.tag == f"{SVG}svg" and
              root.find(f"{SVG}title").text and len(words) > 100, words)
        check(f"{name} loads nothing and holds no script", not any(
            word in first[name].replace("url(#", "")
            for word in ("href", "<script", "<image", "url(", "@import", "font-face")))
        check(f"{name} is 720 wide", root.get("width") == "720")
    mean = next(row["mean"] for row in result["variants"][1]["measures"]
                if (row["measure"], row.get("traffic")) == ("delivery-in-time", "talk"))
    told = tree.fromstring(first["delivery-in-time"]).find(f"{SVG}desc").text
    check("its words tell the figures of the result", f"{100 * mean:.1f}" in told, (mean, told))
    for name in NAMES:
        check(f"{name} names both variants" if name != "difference" else f"{name} names the variant",
              "people-first" in first[name])
    again = spate("compare", DEMO, *SHORT, "--jobs", "1", *asked)
    check("threads change no picture", again.returncode == 0 and all(
        open(paths[name], encoding="utf-8").read() == first[name] for name in NAMES))


def check_errors(folder):
    good = os.path.join(folder, "good.svg")
    fails("a plot that there is not", 2, "did you mean 'latency'?", "--plot", f"latensy={good}")
    fails("a plot far from any", 2, "there are: delivery,", "--plot", f"xyzzy={good}")
    fails("no file", 2, "has no file name", "--plot", "latency")
    fails("a file without a name", 2, "has no file name", "--plot", "latency=")
    fails("one file for two", 2, "where another --plot goes", "--plot", f"latency={good}",
          "--plot", f"load={good}")
    fails("where the measures go", 2, "where --output goes", "--plot", f"load={good}",
          "--output", good)
    fails("standard output", 2, "standard output takes the result", "--plot", "load=-")
    fails("a folder that is not there", 3, "", "--plot", f"load={folder}/no/x.svg")
    check("nothing was written", not os.path.exists(good))
    full = spate("compare", DEMO, *SHORT, "--plot", "load=/dev/full")
    check("a full disk", full.returncode == 3 and "cannot write" in full.stderr, full.stderr)
    title = os.path.join(folder, "nasty.yaml")
    with open(DEMO, encoding="utf-8") as demo, open(title, "w", encoding="utf-8") as file:
        file.write(demo.read().replace("title: Tarn Hollow", "title: <&\"'> Tarn Hollow"))
    done = spate("run", title, "--replications", "1", "--set", "run.duration=20 min", "--plot",
                 f"load={good}")
    with open(good, encoding="utf-8") as file:
        check("any title is only text", done.returncode == 0 and
              "<&\"'> Tarn Hollow" in "".join(tree.fromstring(file.read()).itertext()), done.stderr)
    nothing = spate("run", DEMO, "--replications", "2", "--set", "run.duration=20 min", "--plot",
                    f"difference={good}")
    check("a picture of nothing says why", nothing.returncode == 0 and
          "nothing to show" in nothing.stderr and
          "no variants to compare" in open(good, encoding="utf-8").read(), nothing.stderr)


with tempfile.TemporaryDirectory() as work:
    check_pictures(work)
    check_errors(work)
end()
