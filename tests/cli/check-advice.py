#!/usr/bin/env python3
"""check-advice.py SPATE FOLDER SCENARIOS - spate advise as its users meet it, in TAP

The rules that it prints are pasted into the file in both places where they may stand, and the file
is judged by spate check.
"""

import csv
import io
import json
import os
import re
import subprocess
import sys
import tempfile

from tap import check, end, equal, skip

SPATE, FOLDER, SCENARIOS = (os.path.realpath(path) for path in sys.argv[1:4])
TOWN = os.path.join(FOLDER, "town.yaml")
SITES = os.path.join(FOLDER, "sites.yaml")
DEMO = os.path.join(SCENARIOS, "tarn-hollow.yaml")


def spate(*arguments, stdin=""):
    return subprocess.run([SPATE, *arguments], capture_output=True, text=True, check=False,
                          input=stdin)


def read(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


def judge(text, *arguments):
    """Exit status and output of check for a scenario."""
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "pasted.yaml")
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        done = spate("check", "--strict", path, *arguments)
        return done.returncode, done.stdout + done.stderr


def indent(text, by):
    return "".join(" " * by + line + "\n" for line in text.splitlines())


def as_variant(text, rules):
    """The rules under `set` of a variant of which the same is expected."""
    text = text.replace("- {measure:", "- {variant: advised, measure:")
    return text + "variants:\n  advised:\n    set:\n" + indent(rules, 6)


def as_list(text, rules):
    """The list under `rules` of the crossing, in place of what stood there."""
    head, rest = text.split("      rules: # kept\n")
    kept, tail = rest.split("\n", 1)
    check("the rule that was there is kept", kept.strip() in rules, rules)
    return head + "      rules:\n" + indent(rules.split("\n", 1)[1], 4) + tail


def check_prices(prices, n):
    """Of the chatty stream nothing arrives any more, and talk gains what is expected of it."""
    by = {(price["traffic"], price["measure"]): price for price in prices}
    equal("every traffic has its price", {price["traffic"] for price in prices},
          {"chatty", "fire", "quiet", "talk"})
    equal("what is held back goes first", (prices[0]["traffic"], prices[0]["held_back"]),
          ("chatty", True))
    lost, won = by["chatty", "delivery"], by["talk", "delivery"]
    equal("nothing of it arrives", (lost["after"]["mean"], lost["change"]["mean"]),
          (0, -lost["before"]["mean"]))
    check("talk gains by it", won["change"]["ci95"][0] > 0.2 and won["change"]["n"] == n, won)
    equal("what does not arrive has no latency", by["chatty", "latency-p95"]["after"]["mean"], None)


def test_town():
    done = spate("advise", TOWN, "--format", "json", "--jobs", "1")
    equal("advice is found", done.returncode, 0)
    advice = json.loads(done.stdout)
    equal("its format is named", (advice["format"], advice["advice"]), ("spate-advice/1", "bridges"))
    equal("its answer", advice["answer"], "found")
    equal("the chatty stream alone is held back",
          [stream["traffic"] for stream in advice["streams"] if stream["chosen"]], ["chatty"])
    equal("talk is people's traffic", advice["people"]["traffics"], ["talk"])
    equal("the rules", advice["rules"],
          "bridges.gate.up.rules:\n  - {when: {class: alarm}, do: pass}\n"
          "  - {when: {traffic: chatty}, do: hold-back}\n")
    fresh = advice["confirmation"]
    equal("it is confirmed on replications that the search did not see",
          (fresh["first"], fresh["refuted"]), (fresh["searched"] + 1, 0))
    equal("verdicts are those of the confirmation", advice["with_rules"][0]["measured"]["n"],
          fresh["replications"])
    check_prices(advice["prices"], fresh["replications"])
    equal("what is left out is said, and why",
          {stream["traffic"]: stream["left_out"] for stream in advice["streams"]},
          {"chatty": None, "quiet": None, "fire": "costs-little"})
    equal("so is what does not cross", advice["nothing_crosses"],
          [{"bridge": "gate", "crossing": "up", "traffic": "talk"}])
    text = read(TOWN)
    status, why = judge(text)
    equal("what is expected fails as it is", status, 1)
    for name, paste in (("a variant", as_variant), ("the list of the crossing", as_list)):
        status, why = judge(paste(text, advice["rules"]))
        check(f"it holds with the rules pasted into {name}", status == 0, why)
    more = spate("advise", TOWN, "--format", "json", "--jobs", "3")
    equal("any number of threads gives the same bytes", more.stdout, done.stdout)
    piped = spate("advise", "-", "--format", "json", stdin=text)
    equal("standard input is advised the same", piped.stdout, done.stdout)


def test_formats():
    table = spate("advise", TOWN, "--replications", "2").stdout
    check("a table holds the rules", "bridges.gate.up.rules:\n  - {when: {class: alarm}" in table,
          table)
    check("their price", re.search(r"chatty \(held back\) +delivery, % +9\d\.\d +0\.0 +-9\d\.\d "
                                   r"\[-9\d\.\d, -9\d\.\d\] \*\n", table), table)
    check("what was not tried", "fire at gate, up\n" in table, table)
    check("and where it was judged", "which the search (1 to " in table, table)
    table = spate("advise", TOWN, "--replications", "2", "--relays").stdout
    check("a relay that makes no difference is no riddle",
          re.search(r"\nmast +0\.0 \[0\.0, 0\.0\] +1\.0000 +no difference\n", table), table)
    check("two replications leave open what they cannot tell",
          re.search(r"\ngate .* undecided, about \d+ more replications? \(bridge\)\n", table), table)
    table = spate("advise", TOWN, "--relays").stdout
    check("whom a bridge serves that is in people's way",
          re.search(r"\ngate +-.* delivers better without it \(bridge\) +fire \+9", table), table)
    check("verdicts on relays say what the model leaves out",
          table.splitlines()[-1].startswith("The model leaves out woods and houses between nodes "), table)
    table = spate("advise", TOWN, "--relays", "--set", "outages=[{node: mast, at: 1 min, for: 5 min}, "
                  "{node: gate, at: 1 min, for: 1 s}]").stdout
    check("what an outage costs",
          re.search(r"\nmast +\+.* costs delivery +chatty \+.*\ngate .* costs less than mast *\n", table), table)
    table = spate("advise", TOWN, "--replications", "2", "--disturbers").stdout
    equal("of radios those are shown that miss what they need",
          re.findall(r"\n(\S+) on (\S+): [0-9.]+ frames an hour", table), [("mast", "air")])
    rare = [word for name in ("chatty", "quiet", "fire", "talk")
            for word in ("--set", f"traffic.{name}.mean-interval=1 h")]
    silent = spate("advise", TOWN, "--replications", "1", "--disturbers", *rare).stdout
    check("where none misses any, that is said", silent.endswith("\nno radio misses a message that "
          "it needs because of others\n") and " on air: " not in silent, silent)
    for arguments in ([], ["--relays"], ["--disturbers"]):
        done = spate("advise", TOWN, "--replications", "2", "--format", "csv", *arguments)
        rows = list(csv.reader(io.StringIO(done.stdout)))
        check(f"rows of csv {arguments} are as long as the head",
              len(rows) > 1 and all(len(row) == len(rows[0]) for row in rows), done.stdout)
        done = spate("advise", TOWN, "--replications", "2", "--format", "json", *arguments)
        equal(f"json {arguments} can be read", json.loads(done.stdout)["replications"], 2)
        again = spate("advise", TOWN, "--replications", "2", "--format", "json", "--jobs", "1",
                      *arguments)
        equal(f"json {arguments} does not depend on threads", again.stdout, done.stdout)
        done = spate("advise", TOWN, "--replications", "1", *arguments)
        check(f"one replication is enough {arguments}", done.returncode in (0, 1), done.stderr)


def test_sites():
    """The saddle alone joins both halves; the hills are mirror images, which the attic needs."""
    done = spate("advise", SITES, "--sites", "--format", "json", "--jobs", "1")
    advice = json.loads(done.stdout)
    equal("sites are ranked", (done.returncode, advice["format"], advice["advice"]),
          (0, "spate-advice/1", "sites"))
    by = {site["node"]: site for site in advice["sites"]}
    equal("each node of a group is one", sorted(by), ["hill-1", "hill-2", "mill", "saddle"])
    equal("what wins most goes first", advice["sites"][0]["node"], "saddle")
    check("and by how much", by["saddle"]["gain"]["ci95"][0] > 0.5, by["saddle"])
    equal("what joins nobody wins nothing", by["mill"]["gain"]["mean"], 0)
    second = advice["sites"][2]
    check("mirror images are not told apart", second["node"].startswith("hill-") and
          not second["behind"]["distinguishable"], second)
    steps = advice["greedy"]
    equal("one is built after the other", [step["node"][:4] for step in steps], ["sadd", "hill"])
    equal("the other image could have been built instead",
          [sorted([steps[1]["node"], tie["node"]]) for tie in steps[1]["ties"]],
          [["hill-1", "hill-2"]])
    equal("and why there are no more", (advice["end"], advice["next"]["distinguishable"]),
          ("not-told", False))
    text = read(SITES) + "variants:\n  built:\n    set:\n" + indent(advice["set"], 6)
    pasted = spate("compare", "-", "--format", "json", stdin=text)
    equal("the choice is read as it is printed", (pasted.returncode, pasted.stderr), (0, ""))
    by = {(row["measure"], row.get("traffic")): row["values"]
          for variant in json.loads(pasted.stdout)["variants"] if variant["name"] == "built"
          for row in variant["measures"] if "values" in row}
    pairs = {"talk": 3, "note": 1}  # of a message, by traffic
    delivery = [sum(n * by["messages", traffic][i] * by["delivery", traffic][i]
                    for traffic, n in pairs.items()) /
                sum(n * by["messages", traffic][i] for traffic, n in pairs.items())
                for i in range(advice["replications"])]
    check("and delivers what was promised", abs(sum(delivery) / len(delivery) -
          steps[-1]["delivery"]["mean"]) < 1e-9, (delivery, steps[-1]["delivery"]))
    table = spate("advise", SITES, "--sites", "--jobs", "3").stdout
    check("people are told so too", re.search(
        r"\nhill-\d .* not told apart from hill-\d: ", table) and
        re.search(r"\n  built:\n    set:\n      nodes\.hill\.candidate: \[hill-\d\]\n      nodes\."
                  r"saddle\.candidate: no\n", table) and "it ends there: the best of the rest, " in table, table)
    again = spate("advise", "-", "--sites", "--format", "json", "--jobs", "3",
                  stdin=read(SITES))
    equal("any number of threads gives the same sites", again.stdout, done.stdout)
    rows = list(csv.reader(io.StringIO(spate("advise", SITES, "--sites", "--format", "csv").stdout)))
    equal("csv has each site and each step", [row[0] for row in rows],
          ["kind", *4 * ["site"], *2 * ["greedy"]])
    done = spate("advise", SITES, "--sites", "--set", "nodes.saddle.candidate=no",
                 "--replications", "2")
    check("what is built already is no candidate", "\nsaddle " not in done.stdout, done.stdout)
    done = spate("advise", TOWN, "--sites", "--replications", "1")
    check("without candidates that is said", done.returncode == 0 and
          done.stdout.endswith("no node is a candidate (candidate: yes)\n"), done.stdout)


def test_unbuilt():
    """What names a site that is not built learns how to build it, and is not answered with nothing."""
    builds = {"saddle": "nodes.saddle.candidate=no builds it", "hill-1": "nodes.hill.candidate=no builds",
              "hill": "'hill' has only candidates that are not built; --set nodes.hill.candidate=no"}
    for arguments, site in ((["--node", "saddle"], "saddle"), (["--node", "hill-1"], "hill-1"),
                            (["--node", "hill"], "hill"), (["--profile", "west-1", "saddle"], "saddle"),
                            (["--profile", "hill-1", "west-1"], "hill-1")):
        done = spate("links", SITES, *arguments)
        check(f"links {arguments}: it is not built", done.returncode == 2 and done.stdout == "" and
              f"{arguments[0]}: '{site}' " in done.stderr and builds[site] in done.stderr, done.stderr)
        done = spate("links", SITES, *arguments, "--set", f"nodes.{site.split('-')[0]}.candidate=no")
        check("... and once it is, there it is", done.returncode == 0 and site in done.stdout, done.stderr)
    done = spate("coverage", SITES, "--radio", "saddle")
    check("nor is its radio carried about", done.returncode == 2 and builds["saddle"] in done.stderr, done.stderr)
    done = spate("links", SITES, "--profile", "west-1", "sadle")
    check("a typo finds it too", "did you mean 'saddle'?" in done.stderr, done.stderr)
    done = spate("links", SITES, "--node", "west", "--node", "east")
    check("others are answered", done.returncode == 0 and "west-1" in done.stdout, done.stderr)
    heard = "sender,receiver,received-power\nwest-1,saddle,-80\n"
    for arguments in (["links", SITES, "--observed", "-"], ["fit", "-", "--scenario", SITES]):
        done = spate(*arguments, stdin=heard)
        check(f"{arguments[0]}: levels of what is not built", done.returncode == 2 and
              "standard input:2:8: 'saddle' is a candidate that is not built" in done.stderr and
              "'candidate: no' builds it" in done.stderr, done.stderr)


def test_usage():
    for arguments, wanted in (([], "takes one scenario"),
                              ([TOWN, TOWN], "takes one scenario"),
                              ([TOWN, "--relays", "--disturbers"], "cannot be combined"),
                              ([TOWN, "--relays", "--sites"], "cannot be combined"),
                              ([TOWN, "--gentle", "softly"], "not one of thin, limit, no"),
                              ([TOWN, "--variant", "a", "--variant", "b"], "one variant"),
                              ([TOWN, "--variant", "nowhere"], "nowhere")):
        done = spate("advise", *arguments)
        check(f"bad usage is told: {wanted}",
              done.returncode == 2 and wanted in done.stderr and done.stdout == "", done.stderr)
    done = spate("advise", TOWN, "--set", "expect.0.at-least=99 %", "--replications", "2")
    equal("where no set is enough, it fails", done.returncode, 1)
    check("and says so", "no set to hold back meets all expectations" in done.stdout, done.stdout)
    done = spate("advise", TOWN, "--set", "bridges={}", "--set", "expect=[]", "--replications", "1")
    check("without a bridge it says so", done.returncode == 0 and "no bridge" in done.stdout,
          done.stdout + done.stderr)


def test_demo():
    if os.environ.get("SPATE_SANITIZED") == "yes":
        skip("the demo is advised", "takes minutes under a sanitizer; the town was advised")
        return
    expect = "[{measure: delivery-in-time, traffic: talk, at-least: 93 %}]"
    done = spate("advise", DEMO, "--set", f"expect={expect}", "--replications", "3", "--format",
                 "json")
    advice = json.loads(done.stdout)
    equal("the demo is advised", advice["answer"], "found")
    chosen = [stream for stream in advice["streams"] if stream["chosen"]]
    check("to hold back readings at some of its bridges",
          chosen and all(stream["traffic"] == "soil-moisture" for stream in chosen), chosen)
    text = read(DEMO).split("\nexpect:\n")[0]
    head, tail = text.split("\nvariants:\n")
    pasted = (head + "\nvariants:\n  advised:\n    set:\n" + indent(advice["rules"], 6) + tail +
              "\nexpect:\n  - {variant: advised, measure: delivery-in-time, traffic: talk, "
              "at-least: 93 %}\n")
    status, why = judge(pasted, "--replications", "3")
    check("and with that advice it meets what is expected", status == 0, why)


test_town()
test_formats()
test_sites()
test_unbuilt()
test_usage()
test_demo()
end()
