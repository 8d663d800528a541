#!/usr/bin/env python3
"""check-doubt.py SPATE SCENARIOS - what nobody knows, as users of every command meet it

The far farm of the demo is run; what was drawn is in the JSON, and what is said of it is worked out
here once more.
"""

import csv
import io
import json
import os
import subprocess
import sys
import tempfile

from tap import check, end

SPATE, FOLDER = os.path.realpath(sys.argv[1]), os.path.realpath(sys.argv[2])
PLAN = os.path.join(FOLDER, "far-farm.yaml")
EXPONENT = "bearers.valley.propagation.exponent"


def spate(*arguments):
    return subprocess.run([SPATE, *arguments], capture_output=True, text=True, check=False,
                          stdin=subprocess.DEVNULL)


def read(*arguments):
    return json.loads(spate(*arguments, "--format", "json").stdout)


def row(result, variant, measure, traffic):
    for one in result["variants"][variant]["measures"]:
        if (one["measure"], one.get("traffic"), one.get("bearer")) == (measure, traffic, None):
            return one["values"]
    raise KeyError(measure)


def ranks(values):
    """Ties share theirs."""
    order = sorted(values)
    return [(order.index(v) + len(order) - 1 - order[::-1].index(v)) / 2 for v in values]


def correlation(x, y):
    """Spearman's: Pearson's of the ranks."""
    x, y = ranks(x), ranks(y)
    mean_x, mean_y = sum(x) / len(x), sum(y) / len(y)
    return (sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y)) /
            (sum((a - mean_x) ** 2 for a in x) * sum((b - mean_y) ** 2 for b in y)) ** 0.5)


def check_compare():
    result = read("compare", PLAN)
    exponent, walls, cottages = result["doubts"]
    check("what is in doubt is listed", (exponent["path"], exponent["low"], exponent["high"]) ==
          (EXPONENT, 2.8, 3.6), exponent)
    check("each replication draws", len(set(exponent["values"])) == 60 and
          all(2.8 <= v <= 3.6 for v in exponent["values"]), exponent)
    check("counts are whole", set(cottages["values"]) <= set(range(4, 13)), cottages)
    check("a variant that says what it is does not draw it", walls["variants"] == ["base"], walls)
    table = spate("compare", PLAN).stdout
    told = f"rank correlation {correlation(exponent['values'], row(result, 0, 'delivery', 'talk')):.2f}"
    check("what follows is told", f"base: delivery of talk falls as {EXPONENT} rises ({told})"
          in table, table[-3000:])
    check("a count makes load", "load on valley rises as nodes.cottages.count rises" in table)
    better = sum(b > a for a, b in zip(row(result, 0, "delivery", "talk"),
                                       row(result, 1, "delivery", "talk")))
    check("in how many draws a variant is better", "roof-antenna: delivery of talk is more than in "
          f"base\n    holds in {better} of 60 draws" in table, table[-3000:])
    check("threads change nothing", spate("compare", PLAN, "--jobs", "1").stdout == table)
    fixed = read("run", PLAN, "--set", f"{EXPONENT}=3", "--replications", "3")
    check("a setting ends doubt", [d["path"] for d in fixed["doubts"]] ==
          ["nodes.farm.site-loss", "nodes.cottages.count"], fixed["doubts"])
    other = read("run", PLAN, "--seed", "12")
    check("the seed decides", other["doubts"][0]["values"] != exponent["values"])


def check_check():
    result = read("compare", PLAN)
    points = read("check", PLAN)["files"][0]["expectations"]
    exponent = result["doubts"][0]["values"]
    held = [v >= 0.9 for v in row(result, 0, "delivery-in-time", "talk")]
    doubt = points[0]["doubt"]
    check("draws that hold are counted", (doubt["held"], doubt["n"]) == (sum(held), 60), doubt)
    flips = doubt["inputs"][0]["flips"]
    wrong = sum(h != (x <= flips["from"]) for h, x in zip(held, exponent))
    best = min(sum(h != (x <= cut) for h, x in zip(held, exponent)) for cut in exponent)
    check("the cut is the best one", flips["holds"] == "below" and
          wrong == flips["wrong"] == best, (flips, wrong, best))
    check("both sides of it are neighbours", sorted(exponent).index(flips["to"]) ==
          sorted(exponent).index(flips["from"]) + 1, flips)
    junit = spate("check", PLAN, "--format", "junit").stdout
    check("JUnit has it too", "holds in 26 of 60 draws" in junit, junit)
    few = spate("check", PLAN, "--replications", "4").stdout
    check("a few draws tell nothing of inputs", "at least 10 draws are needed" in few and
          "rank correlation" not in few, few)


def check_other_commands(folder):
    sized = os.path.join(folder, "sized.yaml")
    with open(PLAN, encoding="utf-8") as plan, open(sized, "w", encoding="utf-8") as file:
        file.write(plan.read() + "size: {vary: nodes.farm.radios.valley.antenna.gain, "
                   "from: 2 dBi, to: 26 dBi, step: 12 dBi}\n")
    size = spate("size", sized, "--replications", "20", "--variant", "base")
    check("size tells it of every value", size.stdout.count("draws (95 % interval") == 3 and
          "holds in all 20 draws" in size.stdout, size.stdout + size.stderr)
    store = os.path.join(folder, "s.sqlite")
    sweep = spate("sweep", PLAN, "--store", store, "--replications", "4", "--vary",
                  "flooding.hop-limit=1,4", "--format", "csv")
    rows = [line for line in csv.DictReader(io.StringIO(sweep.stdout))
            if (line["measure"], line["traffic"]) == ("messages", "talk")]
    alone = read("run", PLAN, "--replications", "4")
    mean = sum(row(alone, 0, "messages", "talk")) / 4
    check("a sweep draws the same at every point", len(rows) == 2 and
          all(float(line["mean"]) == mean for line in rows), (sweep.stdout[:300], mean))
    events = os.path.join(folder, "e.jsonl")
    logged = spate("run", PLAN, "--replications", "3", "--events", events)
    with open(events, encoding="utf-8") as lines:
        names = {json.loads(line).get("node") for line in lines}
    drawn = read("run", PLAN, "--replications", "3")["doubts"][2]["values"]
    most = int(max(drawn))
    check("logs name the nodes that were drawn", logged.returncode == 0 and
          f"cottages-{most + 1}" not in names and len(names) > 3, names)
    table = spate("run", PLAN, "--replications", "3", "--format", "csv").stdout
    check("CSV stays what it was", next(csv.reader(io.StringIO(table)))[0] == "kind")


with tempfile.TemporaryDirectory() as work:
    check_compare()
    check_check()
    check_other_commands(work)
end()
