"""check-layouts.py SPATE FOLDER - random places are drawn anew in each replication, so that what one seed
says for sure no other contradicts; and an answer for one layout says so."""

import collections
import json
import os
import subprocess
import sys
import tempfile

from tap import check, end, equal

SPATE, FOLDER = os.path.realpath(sys.argv[1]), os.path.realpath(sys.argv[2])
HILLS = os.path.join(FOLDER, "hills.yaml")
ONCE = ["--set", "nodes.repeater.place.redraw=once"]
WORDS = "for this one layout (redraw: once)"

# A verdict rests on a 95 % interval and one look at it: of a value that is at the bound, 2.5 % of the
# seeds may say "fails" (and 2.5 % "meets"); of all others fewer.  That more than 3 of 20 do has a chance of
# 0.2 % (binomial, n = 20, p = 0.025).
SEEDS, MOST_WRONG = range(1, 21), 3
ONE_LOOK = ["--replications", "40", "--set", "run.replications=40"]


def spate(*arguments):
    return subprocess.run([SPATE, *arguments], capture_output=True, text=True, check=False,
                          stdin=subprocess.DEVNULL)


def contradictions(*arguments):
    """For each value that some seed tried: how many seeds say other than most of those that are sure."""
    said = collections.defaultdict(collections.Counter)
    for seed in SEEDS:
        answer = json.loads(spate("size", HILLS, "--seed", str(seed), "--format", "json",
                                  *ONE_LOOK, *arguments).stdout)
        for point in answer["points"]:
            said[point["value"]][point["answer"]] += 1
    print(f"# {dict(sorted((value, dict(answers)) for value, answers in said.items()))}")
    return {value: min(answers["meets"], answers["fails"]) for value, answers in said.items()}


def check_seeds():
    wrong = contradictions()
    check("seeds do not contradict each other", max(wrong.values()) <= MOST_WRONG, wrong)
    check("values are judged", len(wrong) >= 13, wrong)
    wrong = contradictions(*ONCE)
    check("... but those of one layout each do", max(wrong.values()) > MOST_WRONG, wrong)


def says(name, *arguments):
    """Whether a command says that its answer is for one layout: exactly if it is."""
    held, redrawn = spate(*arguments, *ONCE), spate(*arguments)
    check(f"{name}: an answer for one layout says so", WORDS in held.stdout, held.stdout + held.stderr)
    check(f"{name}: others do not", redrawn.stdout and "one layout" not in redrawn.stdout,
          redrawn.stdout + redrawn.stderr)
    if name in ("TAP", "JUnit"):
        return
    for arguments, flag in (([*arguments, *ONCE], True), (arguments, None)):
        answer = json.loads(spate(*arguments, "--format", "json").stdout)
        head = answer["files"][0] if name == "check" else answer
        equal(f"{name}: JSON says {flag}", head.get("one_layout"), flag)


def check_words():
    few = ["--replications", "2"]
    says("run", "run", HILLS, *few)
    says("size", "size", HILLS, *few)
    says("advise", "advise", "--relays", HILLS, *few)
    says("TAP", "check", HILLS, *few)
    says("JUnit", "check", HILLS, *few, "--format", "junit")
    says("check", "check", HILLS, *few)
    check("links: the layout that it shows", spate("links", HILLS).stdout.startswith(
        "random places as drawn in replication 1; each draws them anew\n"))
    check("links: ... one layout is that of all", spate("links", HILLS, *ONCE).stdout.startswith(
        "without shadowing and fading; "))


def check_disturbers():
    """Its distances are of one layout of many, which it says."""
    asked, words = ["advise", "--disturbers", HILLS, "--replications", "2"], "are those of replication 1;"
    table, held = spate(*asked), spate(*asked, *ONCE)
    check("disturbers: whose distances it shows", words in table.stdout, table.stdout + table.stderr)
    check("disturbers: ... one layout is that of all", held.stdout and words not in held.stdout, held.stdout)
    for arguments, flag in (([], True), (ONCE, None)):
        head = json.loads(spate(*asked, *arguments, "--format", "json").stdout)
        equal(f"disturbers: JSON says {flag}", head.get("random_places"), flag)


def check_sweeps():
    """A store knows: whoever merges has no scenario at hand."""
    few = ["--replications", "1"]
    variants = {"held": ONCE, "redrawn": [], "varied": ["--vary", "nodes.repeater.place.redraw=each-replication,once"]}
    with tempfile.TemporaryDirectory() as folder:
        for name, arguments in variants.items():
            store = os.path.join(folder, name + ".sqlite")
            vary = [] if "--vary" in arguments else ["--vary", "nodes.repeater.count=4,8"]
            answers = [spate("sweep", HILLS, "--store", store, *few, *vary, *arguments, "--format", "table"),
                       spate("merge", store, "--format", "table")]
            for command, answer in zip(("sweep", "merge"), answers):
                check(f"{command}, {name}: an answer for one layout says so",
                      answer.stdout and answer.stdout.startswith(WORDS + "\n\n") == (name != "redrawn"),
                      answer.stdout + answer.stderr)
            merged = os.path.join(folder, name + "-merged.sqlite")
            spate("merge", store, "--output", merged)
            flag = json.loads(spate("merge", merged, "--format", "json").stdout).get("one_layout")
            equal(f"sweep, {name}: JSON", flag, True if name != "redrawn" else None)


check_seeds()
check_words()
check_disturbers()
check_sweeps()
end()
