#!/usr/bin/env python3
"""check-starter.py SPATE - the scenario that spate new prints has something to say to every command, in TAP

What its comments promise: lint is silent, the mesh as it is does well, the dry summer fails for a
reason, thinning mends it, and size, sweep and advise find an answer.
"""

import json
import os
import re
import subprocess
import sys
import tempfile

from tap import check, end, equal

SPATE = os.path.realpath(sys.argv[1])
FOLDER = tempfile.TemporaryDirectory()
os.chdir(FOLDER.name)


def spate(*arguments, status=0):
    done = subprocess.run([SPATE, *arguments], capture_output=True, text=True, check=False)
    equal(" ".join(arguments) + f": status {status}", done.returncode, status)
    if done.returncode != status:
        print("# " + done.stderr[:500].replace("\n", "\n# "))
    return done


def answer(*arguments, status=0):
    return json.loads(spate(*arguments, "--format", "json", status=status).stdout or "{}")


def check_file():
    spate("new", "--output", "valley.yaml")
    with open("valley.yaml", encoding="utf-8") as file:
        text = file.read()
    check("it is short", text.count("\n") < 120, text.count("\n"))
    said = spate("lint", "valley.yaml")
    equal("lint is silent", said.stdout + said.stderr, "")
    return text


def check_header(text):
    """Each command that the file names runs."""
    commands = re.findall(r"^#     spate (.+?)  +\S", text, re.M)
    equal("the commands that the file names", [command.split()[0] for command in commands],
          ["lint", "links", "run", "compare", "check", "size", "sweep", "advise", "compare"])
    for command in commands:
        if command.split()[0] not in ("check", "size"):
            spate(*command.split())
    for made in ("valley.html", "valley.sqlite"):
        check(f"{made} is written", os.path.getsize(made) > 10000)


def value(result, variant, measure, traffic):
    for entry in result["variants"]:
        for row in entry["measures"]:
            if (entry["name"], row["measure"], row.get("traffic")) == (variant, measure, traffic):
                return row["mean"]
    return None


def check_figures():
    """The first figures are no puzzle: the mesh delivers, a dry summer hurts, thinning costs readings."""
    result = answer("compare", "valley.yaml")
    for variant, traffic, least, most in (
            ("base", "talk", 0.97, 1), ("base", "soil-moisture", 0.85, 1), ("dry", "talk", 0.8, 0.94),
            ("thinned", "talk", 0.96, 1), ("thinned", "soil-moisture", 0.15, 0.25)):
        got = value(result, variant, "delivery", traffic)
        check(f"{variant}: {traffic} arrives", got is not None and least <= got <= most, got)


def check_verdicts():
    verdicts = answer("check", "valley.yaml", status=1)["files"][0]["expectations"]
    equal("the verdicts", [(one.get("variant", "base"), one["verdict"]) for one in verdicts],
          [("base", "pass"), ("dry", "fail"), ("thinned", "pass")])
    equal("no verdict is undecided, even where that counts",
          spate("check", "--strict", "valley.yaml", status=1).stdout.count("\nnot ok"), 1)
    why = verdicts[1].get("explanation", "")
    check("what fails says why", "could hear hut on valley" in why and "where it stopped:" in why, why)


def check_size():
    size = answer("size", "valley.yaml")
    equal("size: as few as it tries are enough", size["smallest"], 4)
    check("size: there is a most", size["smallest"] < size["largest"] < 24, size["largest"])
    equal("size: the most fail", size["bands"][-1]["answer"], "fails")
    binding = size["expectations"][size["bands"][-1]["binding"]]
    check("size: the dry summer binds", binding.startswith("dry: "), binding)
    check("size: no count that it does not have", " of 0 messages" not in spate("size", "valley.yaml").stdout)


def check_advice():
    advice = spate("advise", "valley.yaml", "--variant", "dry")
    check("advise: the readings are to be thinned", re.search(
        r"bridges\.farm\.up\.rules:\n *- \{when: \{traffic: soil-moisture\}, do: \{thin: ", advice.stdout), advice.stdout)
    advice = spate("advise", "valley.yaml")
    check("advise: what the stream costs without the dry summer", "soil-moisture" in advice.stdout, advice.stdout)
    check("advise: where something may be found", advice.stdout.endswith(
        "other variants have expectations too: --variant dry, --variant thinned\n"), advice.stdout)


def check_sweep():
    points = spate("sweep", "valley.yaml", "--format", "csv").stdout
    settings = set(re.findall(r"(?:12|24|36),(?:5|2|1) min", points))
    equal("sweep: its points", len(settings), 9)


def check_links():
    links = answer("links", "valley.yaml")
    equal("links: everybody is heard and hears", (links["heard_by_nobody"], links["hears_nobody"]), ([], []))


text = check_file()
check_header(text)
check_figures()
check_verdicts()
check_size()
check_advice()
check_sweep()
check_links()
end()
