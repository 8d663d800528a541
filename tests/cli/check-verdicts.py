#!/usr/bin/env python3
"""check-verdicts.py SPATE FOLDER - spate check as its users meet it, in TAP

Verdicts follow by hand from verdicts.yaml.  TAP and JUnit are read by readers that are not ours:
perl's TAP::Parser and python's junitparser; what they check is skipped where they are not
installed.
"""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time

from tap import check, end, equal, patience, skip

SPATE, FOLDER = os.path.realpath(sys.argv[1]), os.path.realpath(sys.argv[2])
PLAN = os.path.join(FOLDER, "verdicts.yaml")


def spate(*arguments):
    return subprocess.run([SPATE, "check", *arguments], capture_output=True, text=True,
                          check=False, stdin=subprocess.DEVNULL)


def points(text):
    """Whether each point is ok."""
    lines = text.splitlines()
    return [not line.startswith("not") for line in lines if line.startswith(("ok ", "not ok "))]


def verdicts(*arguments):
    """The expectations of the first file, as JSON."""
    done = spate(*arguments, "--format", "json")
    return json.loads(done.stdout)["files"][0]


# ---- other readers

TAP_READER = """
use TAP::Parser;
local $/; my $text = <STDIN>;
# What is used of version 14 is what 13 has, which is as far as many readers go.
$text =~ s/^TAP version 14/TAP version 13/ or die "no version";
my $parser = TAP::Parser->new({tap => $text});
while (my $result = $parser->next) { printf "%s\\n", $result->type; }
printf "passed %d of %d, errors %d\\n", scalar $parser->passed, $parser->tests_planned // 0,
    scalar $parser->parse_errors;
"""

JUNIT_READER = """
import sys
from junitparser import JUnitXml
suites = JUnitXml.fromfile(sys.argv[1])
told = (suites.tests, suites.failures, suites.errors, suites.skipped)
suites.update_statistics()
assert told == (suites.tests, suites.failures, suites.errors, suites.skipped), told
for suite in suites:
    print(suite.name)
    assert suite.tests == len(list(suite))
    for case in suite:
        print(case.classname, case.name, [type(result).__name__ for result in case.result])
print(*told)
"""


def has(*command):
    if shutil.which(command[0]) is None:
        return False
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


def check_tap_reader(text):
    if not has("perl", "-MTAP::Parser", "-e", "1"):
        skip("another reader of TAP", "no TAP::Parser")
        return
    read = subprocess.run(["perl", "-e", TAP_READER], input=text, capture_output=True, text=True,
                          check=False)
    check("another reader of TAP", read.stdout.endswith("passed 7 of 10, errors 0\n"),
          read.stdout + read.stderr)
    equal("... reads the diagnostics", read.stdout.count("yaml\n"), 4)


def check_junit_reader(path, *parts):
    if not has("/usr/bin/python3", "-c", "import junitparser"):
        skip("another reader of JUnit", "no junitparser")
        return
    read = subprocess.run(["/usr/bin/python3", "-c", JUNIT_READER, path], capture_output=True,
                          text=True, check=False)
    check("another reader of JUnit", all(part in read.stdout for part in parts),
          read.stdout + read.stderr)


# ---- the verdicts

def check_verdicts():
    done = spate(PLAN)
    equal("a failed expectation is status 1", done.returncode, 1)
    equal("nothing on standard error", done.stderr, "")
    equal("TAP 14", done.stdout.splitlines()[:2], ["TAP version 14", "1..10"])
    equal("the verdicts", points(done.stdout),
          [True, True, True, False, False, True, False, True, True, True])
    check("a description with file and line",
          f"not ok 4 - {PLAN}:38: latency-p95 of down is at most 1 s\n" in done.stdout, done.stdout)
    check("nothing was delivered", "nothing was delivered" in done.stdout)
    check("the explanation names the rule's line",
          f"the rule at {PLAN}:17 (hold-back)" in done.stdout, done.stdout)
    # The source of 'up' offers its first message after the warm-up at 180 s.
    equal("an instant is written the same in the message and in the explanation",
          set(re.findall(r"offered at (\S+)", done.stdout.split("not ok 5")[1].split("\nok ")[0])),
          {"0:03:00.000"})
    check("a change", f"ok 9 - {PLAN}:43: free: transmissions of down changes by at least +90 % "
          "against base" in done.stdout, done.stdout)
    check_tap_reader(done.stdout)
    return done.stdout


def check_table():
    done = spate(PLAN, "--format", "table")
    lines = done.stdout.splitlines()
    equal("a table has the same status", (done.returncode, done.stderr), (1, ""))
    equal("its columns", re.split("  +", lines[0]),
          ["verdict", "expectation", "measured", "95 % interval", "bound"])
    rows = [re.split("  +", line) for line in lines[1:] if re.match("(pass|fail|undecided) ", line)]
    equal("a line for each expectation, in the order of the file", [row[0] for row in rows],
          ["undecided", "pass", "pass", "fail", "fail", "pass", "fail", "pass", "pass", "pass"])
    equal("measured, its interval and the bound", [rows[0], rows[8]],
          [["undecided", "delivery of up", "100 %", "76 % to 100 %", "at least 100 %"],
           ["pass", "free: transmissions of down", "+100 %", "+100 % to +100 %",
            "at least +90 % against base"]])
    equal("what is expected of messages", rows[4],
          ["fail", "down reaches west within 5 s", "0 %", "0.0 % to 49.0 %", "in all replications"])
    equal("the bounds end in one column", len({len(line) for line in lines
          if re.match("(verdict|pass|fail|undecided) ", line)}), 1)
    equal("the reason is below it", lines[lines.index(next(
        line for line in lines if line.startswith("fail  "))) + 1],
        f"    {PLAN}:38: nothing was delivered: there is no value to judge")
    check("... and what stopped the message", f"the rule at {PLAN}:17 (hold-back)" in done.stdout,
          done.stdout)
    check("... and how an undecided one counts", "; it counts as passed\n" in done.stdout)
    check("... strictly", "; it counts as failed\n" in
          spate(PLAN, "--format", "table", "--strict").stdout)
    equal("the counts come last", lines[-1], "7 passed, 3 failed; 1 of them undecided")
    check("no colours but on a terminal", "\x1b" not in done.stdout)
    empty = spate(os.path.join(FOLDER, "valley.yaml"), "--format", "table", "--replications", "1")
    equal("a file without expectations", empty.stdout.splitlines()[1:],
          ["    no expectations", "", "0 passed, 0 failed; 0 of them undecided"])


def check_numbers():
    found = verdicts(PLAN)["expectations"]
    equal("undecided, and never decided: always is not sure",
          [found[0][key] for key in ("verdict", "ok", "mean", "n", "more")],
          ["undecided", True, 1, 4, None])
    # Wilson's interval of 12 of 12 begins at 12 / (12 + 1.96^2)
    check("the interval of 12 of 12", abs(found[1]["ci95"][0] - 12 / (12 + 1.959964**2)) < 1e-6)
    equal("messages that broke a claim", (found[4]["messages"], found[4]["broken"]), (8, 8))
    equal("the first of them", found[4]["first_broken"],
          {"replication": 1, "origin": "east", "offer": 1, "message": 1, "offered_s": 180,
           "at_s": None})
    equal("sent at once", found[6]["first_broken"]["at_s"], 120)
    equal("a change by as much again", (found[8]["mean"], found[8]["ci95"]), (1, [1, 1]))
    equal("claims in all replications", (found[5]["verdict"], found[5]["mean"]), ("pass", 1))


def check_options(text):
    equal("the same bytes for any number of jobs", spate(PLAN, "--jobs", "1").stdout, text)
    equal("... of which are more than one", spate(PLAN, "--jobs", "3").stdout, text)
    done = spate(PLAN, "--variant", "free")
    equal("one variant", (done.returncode, points(done.stdout)), (0, [True, True]))
    equal("strict", points(spate(PLAN, "--strict").stdout)[0], False)
    alone = verdicts(PLAN, "--replications", "1")["expectations"]
    equal("one replication is undecided",
          [(one["verdict"], one["ok"]) for one in (alone[0], alone[3], alone[5])],
          [("undecided", True), ("fail", False), ("pass", True)])
    done = spate(PLAN, "--set", "expect=[]")
    equal("no expectations", (done.returncode, done.stdout.splitlines()[1]),
          (0, f"1..0 # SKIP no expectations in {PLAN}"))
    done = spate(PLAN, "--set", "expect=[{traffic: down, never-on: valley}]")
    check("an expectation of the command line",
          f"not ok 1 - {PLAN} with --set: down is never on valley\n" in done.stdout, done.stdout)
    equal("another seed", verdicts(PLAN, "--seed", "9")["seed"], 9)


def judged(within, *more):
    return verdicts(PLAN, "--set", f"expect=[{{traffic: up, reaches: east, within: {within}}}]",
                    *more)["expectations"][0]


LUCKY = ["--set", "flooding.rules=[]", "--set", "flooding.policy=probability", "--set",
         "flooding.p=50 %", "--set", "traffic.down.at=[3 min]", "--replications", "12"]


def lucky(expectation, *more):
    return verdicts(PLAN, *LUCKY, *more, "--set", f"expect=[{expectation}]")["expectations"][0]


def check_undelivered(work):
    """One message, which `middle` relays or does not: a latency is of the replications where it does."""
    bound = "measure: latency-mean, traffic: down"
    told = lucky(f"{{{bound}, at-most: 5 s}}")
    n = told["n"]
    check("some replications deliver nothing", 2 < n < 12, told)
    equal("a latency is not kept low by what did not arrive", told["verdict"], "fail")
    reason = f"nothing was delivered in {12 - n} of 12 replications"
    check("... and the verdict says so", reason in told["finding"], told["finding"])
    equal("... nor are hops", lucky("{measure: hops-mean, traffic: down, at-most: 6}")["verdict"],
          "fail")
    equal("a least latency is judged by what arrived",
          lucky(f"{{{bound}, at-least: 1 ms}}")["verdict"], "pass")
    told = lucky(f"{{variant: free, {bound}, change-at-most: 50 s}}")
    equal("a change needs both of its sides", told["verdict"], "fail")
    check("... and says so", reason in told["finding"], told["finding"])
    told = lucky(f"{{{bound}, at-most: 5 s}}", "--set", "flooding.p=100 %")
    equal("where all is delivered it passes", told["verdict"], "pass")
    before = os.path.join(work, "lucky.json")
    wanted = ["--set", f"expect=[{{{bound}, at-most: 50 s}}]"]
    subprocess.run([SPATE, "run", PLAN, *LUCKY, "--set", "flooding.p=100 %", "--format", "json",
                    "--output", before, "--quiet"], check=True)
    done = spate(PLAN, *LUCKY, *wanted, "--against", before)
    check("what is not delivered any longer got worse",
          "not ok 2" in done.stdout and "nothing is delivered now" in done.stdout,
          done.stdout + done.stderr)


def check_late():
    """`up` is offered at 2, 4 and 6 of 10 min, and always arrives unless `middle` keeps it."""
    told = judged("6 min")
    equal("only messages whose time was over are judged",
          [told[key] for key in ("verdict", "messages", "broken", "too_late")], ["pass", 8, 0, 4])
    check("... and the verdict says how many were not",
          "not judged: 4 messages offered too late" in told["finding"], told["finding"])
    late = spate(PLAN, "--set", "expect=[{traffic: up, reaches: east, within: 6 min}]").stdout
    check("... in TAP too, where it passes", "\nok 1 - " in late and
          "not judged: 4 messages offered too late" in late, late)
    late = spate(PLAN, "--format", "table", "--set",
                 "expect=[{traffic: up, reaches: east, within: 6 min}]").stdout
    check("... and in the table", "\npass " in late and " with --set: held for 8 of 8 messages" in late
          and "not judged: 4 messages offered too late" in late, late)
    late = spate(PLAN, "--replications", "1", "--set", "traffic.up.at=[2 min, 8 min]", "--set",
                 "expect=[{traffic: up, reaches: east, within: 5 min}]").stdout
    check("... be it a single one", "not judged: 1 message offered too late" in late, late)
    early = spate(PLAN, "--format", "table", "--set",
                  "expect=[{traffic: up, reaches: east, within: 5 s}]").stdout
    check("... where a pass of all is one line", "\npass " in early and "with --set" not in early, early)
    early = spate(PLAN, "--set", "expect=[{traffic: up, reaches: east, within: 5 s}]").stdout
    check("... and where all were judged, a pass is one line",
          "\nok 1 - " in early and "message:" not in early, early)
    lost = ["--set", "flooding.rules=[{when: {traffic: up, hops: {above: 0}}, do: hold-back}]"]
    told = judged("6 min", *lost)
    equal("... arrived or not", [told[key] for key in ("verdict", "messages", "broken", "too_late")],
          ["fail", 8, 8, 4])
    done = spate(PLAN, "--set", "expect=[{traffic: up, reaches: east, within: 541 s}]")
    check("where none could be judged, it is a fault", done.returncode == 2 and
          "no message could be judged" in done.stderr and "at most 540 s" in done.stderr,
          done.stderr)
    done = spate(PLAN, "--set", "expect=[{traffic: up, reaches: east, within: 481 s}]")
    check("... also by the times of the traffic", done.returncode == 2 and
          "'up' offers no message that can be judged" in done.stderr, done.stderr)


def check_shares():
    """Of the messages; and of those with one recipient, as rows of the result too."""
    halved = ["--set", "flooding.rules=[{do: {thin: {keep: 2, of: 3, per: origin}}}]"]
    claim = "traffic: up, reaches: east, within: 5 s"
    told = verdicts(PLAN, *halved, "--set", f"expect=[{{{claim}, at-least: 50 %}}, "
                    f"{{{claim}, at-least: 70 %}}, {{{claim}, in-at-least: 50 %}}, "
                    "{measure: delivery, traffic: up, to: east, at-least: 30 %}, "
                    "{measure: delivery-in-time, traffic: up, to: east, at-most: 90 %}]")
    found = told["expectations"]
    equal("a share of the messages", [(one["verdict"], one["ok"]) for one in found[:3]],
          [("undecided", True), ("undecided", False), ("fail", False)])
    check("... with what was measured", abs(found[0]["mean"] - 2 / 3) < 1e-9 and
          found[0]["finding"].startswith("held for 8 of 12 messages, 66.7 % over 4 replications"),
          found[0]["finding"])
    equal("... and its words", found[0]["expectation"],
          "up reaches east within 5 s, at least 50 % of the messages")
    equal("one recipient", [(one["verdict"], one["to"], round(one["mean"], 6))
                            for one in found[3:]],
          [("pass", "east", 0.666667), ("pass", "east", 0.666667)])
    run = subprocess.run([SPATE, "run", PLAN, *halved, "--set",
                          "expect=[{measure: delivery, traffic: up, to: east, at-least: 30 %}]",
                          "--format", "json"], capture_output=True, text=True, check=True)
    rows = [row for row in json.loads(run.stdout)["variants"][0]["measures"] if "to" in row]
    equal("... is a row of the result", [(row["measure"], row["traffic"], row["to"]) for row in rows],
          [("delivery", "up", "east"), ("delivery-in-time", "up", "east")])


def check_bounds():
    """3 n of 3 n begins at 3 n / (3 n + z^2).  Seven looks (2, 4, 8, 16, 32, 64, 100) at 5 % / 7 each: z is
    2.69, 95 % takes 46 replications.  Five (2, 4, 8, 16, 20) at 1 %: z is 2.576, it takes 43."""
    more = ["--set", "expect=[{measure: delivery, traffic: up, at-least: 95 %}]", "--set"]
    enough = verdicts(PLAN, *more, "run.replications={at-least: 2, at-most: 100}")
    equal("as many replications as the verdicts need",
          (enough["replications"], enough["expectations"][0]["verdict"]), (64, "pass"))
    few = verdicts(PLAN, *more, "run.replications={at-least: 2, at-most: 20}")
    equal("at most so many", (few["replications"], few["expectations"][0]["verdict"],
                              few["expectations"][0]["more"]), (20, "undecided", 23))
    given = verdicts(PLAN, *more, "run.replications={at-least: 2, at-most: 20}",
                     "--replications", "3")
    equal("unless it is said how many", given["replications"], 3)
    never = verdicts(PLAN, "--set", "run.replications={at-least: 2, at-most: 20}", "--set",
                     "expect=[{measure: delivery, traffic: up, at-least: 100 %}]")
    equal("what none would decide needs no more", never["replications"], 2)
    broken = verdicts(PLAN, "--set", "run.replications={at-least: 2, at-most: 99}", "--set",
                      "expect=[{traffic: down, reaches: west, within: 5 s}]")
    equal("what is decided needs no more", broken["replications"], 2)


# ---- files

def check_files(work):
    odd = os.path.join(work, "a&b<c> #1.yaml")
    shutil.copy(PLAN, odd)
    done = spate(odd, PLAN)
    check("files after one another", "\nok 11 - " in done.stdout and "1..20\n" in done.stdout)
    check("marks that mean something are escaped", "a&b<c> \\#1.yaml:35: " in done.stdout)
    junit = os.path.join(work, "v.xml")
    done = spate(odd, PLAN, "--set", "expect.6=" + "{traffic: up, never-reaches: middle}", "--format",
                 "junit", "--output", junit)
    equal("JUnit into a file", (done.returncode, done.stdout), (1, ""))
    check_junit_reader(junit, "20 6 0 0\n", f"{odd}\n", "--set: up never reaches middle ['Failure']",
                       "line 43: free: transmissions of down changes by at least +90 % against base")
    done = spate(PLAN, os.path.join(FOLDER, "tiny.yaml"), "--format", "junit", "--output", junit)
    check_junit_reader(junit, "11 3 0 1\n", "expectations ['Skipped']")
    done = spate(PLAN, os.path.join(FOLDER, "tiny.yaml"))
    check("a file without expectations", done.stdout.endswith("tiny.yaml # SKIP no expectations\n"
          "# 7 passed, 3 failed; 1 of them undecided\n"), done.stdout)


def fails(name, wanted, part, work, *arguments):
    output = os.path.join(work, "none.tap")
    done = spate(*arguments, "--output", output)
    equal(name, (done.returncode, done.stdout, os.path.exists(output)), (wanted, "", False))
    check("... and says why", part in done.stderr, done.stderr)


def check_errors(work):
    bad = os.path.join(work, "bad.yaml")
    fails("an unknown measure", 2, "did you mean 'delivery'?", work, PLAN, "--set",
          "expect=[{measure: deliverd, traffic: up, at-least: 1 %}]")
    fails("a bound in the wrong unit", 2, "ns, us, ms, s, min, h or day", work, PLAN, "--set",
          "expect=[{measure: latency-mean, traffic: up, at-most: 3 km}]")
    fails("a variant that does not exist", 2, "there is no variant 'fre'", work, PLAN, "--set",
          "expect=[{variant: fre, measure: load, bearer: valley, at-most: 1}]")
    fails("a source that sends nothing", 2, "'west' sends no 'down'", work, PLAN, "--set",
          "expect=[{traffic: down, from: west, never-on: valley}]")
    fails("a measure of what is not there", 2, "there is no bridge to hold anything back", work, PLAN,
          "--set", "expect=[{measure: held-back, traffic: up, at-most: 3}]")
    fails("a variant that does not exist, as an option", 2, "did you mean 'free'?", work, PLAN,
          "--variant", "fre")
    with open(PLAN, encoding="utf-8") as good, open(bad, "w", encoding="utf-8") as written:
        written.write(good.read().replace("within", "wthin"))
    fails("a bad file among good ones", 2, "unknown key 'wthin'", work, PLAN, bad)
    fails("a file that is not there", 3, "cannot be read", work, PLAN, bad + "x")
    fails("no files", 2, "check takes one or more scenarios", work)
    fails("standard input twice", 2, "only once", work, "-", "-")
    fails("another format", 2, "one of tap, table, junit, json", work, PLAN, "--format", "csv")
    done = spate(PLAN, "--output", os.path.join(work, "nowhere", "v.tap"))
    equal("a folder that is not there", done.returncode, 3)


def check_units():
    """A change in percent is no number of the measure's unit; one in the unit is."""
    def failing(bound):
        return spate(PLAN, "--set", "expect=[{variant: free, measure: load, bearer: valley, "
                     f"change-at-least: {bound}}}]").stdout
    relative, absolute = failing("900 %"), failing("900")
    check("a relative change has the unit of versus", '  unit: "of versus"\n' in relative, relative)
    check("a difference has the measure's", '  unit: "erlang"\n' in absolute, absolute)


def check_against(work):
    """The rule that holds `down` back was not there before: fewer transmissions, less delivery."""
    old, other = os.path.join(work, "old.json"), os.path.join(work, "other.json")
    free = ["--set", "flooding.rules=[]"]
    subprocess.run([SPATE, "run", PLAN, *free, "--format", "json", "--output", old], check=True)
    subprocess.run([SPATE, "run", PLAN, "--seed", "4", "--format", "json", "--output", other],
                   check=True)
    closed = os.path.join(work, "closed.json")
    subprocess.run([SPATE, "run", PLAN, "--format", "json", "--output", closed], check=True)
    expect = ["--set", "expect=[{measure: delivery, traffic: down, at-most: 100 %}, "
              "{measure: delivery, traffic: down, at-least: 0 %}, "
              "{measure: transmissions, traffic: down, at-most: 9}]"]
    done = spate(PLAN, *expect, "--against", old)
    equal("worse than before is a failure", (done.returncode, points(done.stdout)),
          (1, [True, True, True, False, True, True]))
    check("a plan of all points", "1..6\n" in done.stdout, done.stdout)
    change = ["--set", "expect=[{variant: free, measure: transmissions, traffic: down, "
              "change-at-most: 99}]"]
    both = os.path.join(work, "both.json")
    subprocess.run([SPATE, "compare", PLAN, *free, "--format", "json", "--output", both],
                   check=True)
    changed = json.loads(spate(PLAN, *change, "--against", both, "--format", "json").stdout)
    # before, both let `down` through; now the base does not: the change grew from 0 to 2
    equal("a change is compared with the change before",
          changed["files"][0]["expectations"][0]["since"]["mean"], 2)
    more = spate(PLAN, *free, *expect, "--against", closed)
    check("what grew is listed too", "#   base: transmissions of down changed by +2.00 (95 % "
          "interval +2.00 to +2.00): worse\n" in more.stdout, more.stdout)
    check("... of the measure", "not ok 4 - " in done.stdout and
          "delivery of down is not worse than before" in done.stdout, done.stdout)
    check("... by so much", "changed by -1.00 (95 % interval -1.00 to -1.00) over 4 replications"
          in done.stdout, done.stdout)
    check("what differs is listed", f"# differs since {old}\n" in done.stdout and
          "#   base: transmissions of down changed by -2.00 (95 % interval -2.00 to -2.00): better\n"
          in done.stdout, done.stdout)
    check("what does not differ is not", "#   base: delivery of up" not in done.stdout)
    same = spate(PLAN, *expect, *free, "--against", old)
    check("the same rules differ in nothing", same.returncode == 0 and
          f"# nothing differs since {old}\n" in same.stdout, same.stdout)
    told = json.loads(spate(PLAN, *expect, "--against", old, "--format", "json").stdout)
    equal("as JSON", (told["against"], told["files"][0]["expectations"][1]["since"]["mean"],
                      told["files"][0]["differences"][0]["variant"]), (old, -1, "base"))
    check("where all names are there, nothing is left out", "not compared" not in same.stdout and
          told["files"][0]["uncompared"] == [], same.stdout)
    with open(PLAN, encoding="utf-8") as plan, open(os.path.join(work, "renamed.yaml"), "w",
                                                    encoding="utf-8") as file:
        file.write(plan.read().split("variants:")[0].replace("  down: {from", "  home: {from"))
    renamed = [os.path.join(work, "renamed.yaml"), *free, "--set",
               "expect=[{measure: delivery, traffic: home, at-least: 0 %}]", "--against", old]
    gone, new = "earlier result only: traffic down\n", "new result only: traffic home\n"
    for form, mark in (("tap", "# "), ("table", "    ")):
        got = spate(*renamed, "--format", form)
        check(f"a traffic that is gone is told: {form}", f"\n{mark}not compared, in the {gone}"
              f"{mark}not compared, in the {new}" in got.stdout, got.stdout + got.stderr)
    equal("... as JSON", json.loads(spate(*renamed, "--format", "json").stdout)["files"][0]["uncompared"],
          [{"what": "traffic", "name": "down", "in": "before"},
           {"what": "traffic", "name": "home", "in": "now"}])
    junit = os.path.join(work, "against.xml")
    spate(PLAN, *expect, "--against", old, "--format", "junit", "--output", junit)
    check_junit_reader(junit, "6 1 0 0\n",
                       "--set: delivery of down is not worse than before ['Failure']")
    fails("another seed", 2, "from another scenario: its seed is '4', not '3'", work, PLAN,
          "--against", other)
    fails("another scenario", 2, "its title is 'Two ways through the middle', not 'Three in a row'",
          work, os.path.join(FOLDER, "tiny.yaml"), "--against", old)
    fails("no result", 2, "--against: ", work, PLAN, "--against", PLAN)
    fails("a result that is not there", 3, "--against: ", work, PLAN, "--against", old + "x")
    fails("two scenarios against one result", 2, "takes only one scenario", work, PLAN, PLAN,
          "--against", old)
    equal("verdicts over the earlier result",
          spate(PLAN, "--against", old, "--output", old).returncode, 2)


def interrupted(*files):
    """What check says when it is told to end after something was finished.  Nothing shows from
    outside when that is: where it was too early, the next signal comes later."""
    wait_s = 0.5
    while True:
        with subprocess.Popen([SPATE, "check", *files, "--replications", "1000000"],
                              stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
            time.sleep(wait_s)
            process.send_signal(signal.SIGINT)
            out, err = process.communicate(timeout=patience(100))
        if process.returncode == 130 and "before anything was finished" not in err:
            return process.returncode, out, err
        wait_s *= 2
        if wait_s > patience(30):
            return process.returncode, out, err


def check_interruption():
    status, out, err = interrupted(PLAN, PLAN)
    equal("an interruption is status 130", status, 130)
    check("... and said", "interrupted" in err, err)
    check("what was finished is judged", len(points(out)) == 10, out)
    alone = interrupted(PLAN)[1]
    check("... nor that nothing was left out",
          "Bail out! interrupted: judged by the finished replications" in alone, alone)
    check("what was not is told", "Bail out! interrupted: 1 of 2 files were not judged" in out, out)


with tempfile.TemporaryDirectory() as folder:
    whole = check_verdicts()
    check_table()
    check_numbers()
    check_options(whole)
    check_late()
    check_undelivered(folder)
    check_shares()
    check_bounds()
    check_files(folder)
    check_errors(folder)
    check_units()
    check_against(folder)
    check_interruption()
end()
