#!/usr/bin/env python3
"""check-sweep.py SPATE FOLDER - spate sweep and merge as their users meet them, in TAP

Stores are read with Python's own SQLite.  A sweep that was disturbed in any way has to hold what
the undisturbed one holds.  SPATE_KILLS says how often a sweep is killed (10), SPATE_SEED when.
"""

import csv
import io
import json
import os
import random
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time

import storesum
from tap import check, end, equal, patience, skip

SPATE, FOLDER = os.path.realpath(sys.argv[1]), os.path.realpath(sys.argv[2])
KILLS = int(os.environ.get("SPATE_KILLS", "10"))
SEED = int(os.environ.get("SPATE_SEED", "5"))
N_POINTS, REPLICATIONS = 20, 6
N_RUNS = N_POINTS * REPLICATIONS


def holds(name, text, part):
    check(name, part in text, f"{part!r} is not in {text!r}")


def spate(*arguments, **options):
    return subprocess.run([SPATE, *arguments], capture_output=True, text=True, check=False,
                          stdin=subprocess.DEVNULL, **options)


def sweep(store, *arguments, **options):
    return spate("sweep", "valley.yaml", "--store", store, *arguments, **options)


def refused(name, status, part, *arguments):
    done = spate(*arguments)
    equal(f"{name}: the status", done.returncode, status)
    holds(f"{name}: why", done.stderr, part)


def as_json(*stores):
    done = spate("merge", *stores, "--format", "json")
    return done.stdout if done.returncode == 0 else f"{done.returncode} {done.stderr}"


def query(store, text):
    """Reads as any program would; first undoes what a kill left half done."""
    with sqlite3.connect(f"file:{store}?mode=rw", uri=True) as connection:
        rows = connection.execute(text).fetchall()
    connection.close()
    return rows


def change(store, text):
    with sqlite3.connect(store) as connection:
        connection.executescript(text)
    connection.close()


def dump(store):
    """All that a store holds, by names, in an order of its own."""
    names = "name, traffic, bearer, node, bridge, unit"
    return [sorted(query(store, text), key=repr) for text in (
        "SELECT * FROM about", "SELECT point, variant FROM points", "SELECT * FROM design",
        "SELECT point, replication FROM runs",
        f"SELECT point, replication, {names}, value, counted, out_of"
        " FROM samples JOIN measures USING (measure)",
        f"SELECT point, {names}, mean, ci95_low, ci95_high, n FROM sums JOIN measures"
        " USING (measure)")]


def content(path):
    with open(path, "rb") as file:
        return file.read()


def runs_of(store):
    return set(query(store, "SELECT point, replication FROM runs"))


# ---- undisturbed

def undisturbed():
    done = sweep("whole.sqlite", "--jobs", "1")
    equal("a sweep is run", (done.returncode, done.stderr),
          (0, f"spate: {N_RUNS} runs are in whole.sqlite, {N_RUNS} of them new\n"))
    equal("... nothing but the store is left", sorted(os.listdir(".")),
          ["valley.yaml", "whole.sqlite"])
    equal("... which SQLite finds sound", query("whole.sqlite", "PRAGMA integrity_check"), [("ok",)])
    equal("... of the form that is told",
          query("whole.sqlite", "PRAGMA user_version") + query("whole.sqlite",
                                                               "PRAGMA application_id"),
          [(2,), (0x53707465,)])
    equal("... with the sums that are told", storesum.written("whole.sqlite"),
          storesum.worked_out("whole.sqlite"))
    sweep("threads.sqlite", "--jobs", "3")
    equal("any number of threads gives the same store", dump("threads.sqlite"),
          dump("whole.sqlite"))
    done = sweep("whole.sqlite", "--quiet")
    equal("with --quiet nothing is said", (done.returncode, done.stderr), (0, ""))


def points_are_runs():
    """Point 13 by hand: the fourth count, the first interval, the second list."""
    points = json.loads(as_json("whole.sqlite"))["points"]
    equal("points are numbered, the last axis fastest", points[13]["settings"],
          {"nodes.soil.count": "16", "traffic.talk.mean-interval": "20 s",
           "nodes.hill.relay": "[valley]"})
    done = spate("run", "valley.yaml", "--set", "nodes.soil.count=16", "--set",
                 "traffic.talk.mean-interval=20 s", "--format", "json")
    run = json.loads(done.stdout)["variants"][0]["measures"]
    equal("a point holds what spate run finds", points[13]["measures"], run)
    rows = query("whole.sqlite", "SELECT count(*) FROM results WHERE point = 13")
    equal("... and so do the views", rows, [(len(run),)])
    [[mean, low, high]] = query("whole.sqlite", "SELECT mean, ci95_low, ci95_high FROM results"
                                " WHERE point = 13 AND measure = 'delivery' AND traffic = 'talk'")
    found = [row for row in run if row["measure"] == "delivery" and row.get("traffic") == "talk"]
    equal("... with means and intervals", [mean, [low, high]],
          [found[0]["mean"], found[0]["ci95"]])


def text_formats():
    table = sweep("whole.sqlite", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(table.stdout)))
    points = json.loads(sweep("whole.sqlite", "--format", "json").stdout)["points"]
    equal("CSV has a row for each measure of each point", len(rows),
          sum(len(point["measures"]) for point in points))
    first, same = rows[0], points[0]["measures"][0]
    equal("... the same as JSON",
          (first["nodes.soil.count"], first["measure"], float(first["mean"])),
          ("4", same["measure"], same["mean"]))
    done = sweep("whole.sqlite", "--format", "json", "--output", "out.json")
    with open("out.json", encoding="utf-8") as file:
        equal("--output takes the text", (done.returncode, file.read()),
              (0, as_json("whole.sqlite")))
    holds("a table is for people", sweep("whole.sqlite", "--format", "table").stdout,
          "delivery of talk, %\n  nodes.soil.count  traffic.talk.mean-interval  nodes.hill.relay ")


def more_replications():
    shutil.copy("whole.sqlite", "more.sqlite")
    done = sweep("more.sqlite", "--replications", "8")
    holds("more replications: only the new ones are run", done.stderr,
          f"{8 * N_POINTS} runs are in more.sqlite, {2 * N_POINTS} of them new")
    sweep("eight.sqlite", "--replications", "8")
    equal("... and all sum up as if they were run at once", dump("more.sqlite"),
          dump("eight.sqlite"))
    done = sweep("more.sqlite", "--replications", "3")
    equal("fewer than there are: nothing is run, nothing lost", dump("more.sqlite"),
          dump("eight.sqlite"))


# ---- disturbed

def start(store, *arguments):
    return subprocess.Popen([SPATE, "sweep", "valley.yaml", "--store", store, "--replications", "8",
                             "--quiet", *arguments],
                            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                            stderr=subprocess.DEVNULL)


def finish_or_kill(process, wait_s):
    """Whether it was killed."""
    try:
        process.wait(wait_s)
        return False
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
        return process.returncode == -signal.SIGKILL


def readable(store):
    """Whether runs can be asked for: a kill before the first batch ended leaves an empty file."""
    return os.path.exists(store) and os.path.getsize(store) > 0 and bool(
        query(store, "SELECT 1 FROM sqlite_master WHERE name = 'runs'"))


def killed_sweep(number, draw, longest_s, faults):
    """One sweep, killed until it is finished; how often.  Where a kill comes before anything was
    done, the next comes later: a busy machine makes the test longer, not endless."""
    store = f"killed-{number}.sqlite"
    kept, kills = set(), 0
    while finish_or_kill(start(store, "--jobs", str(1 + number % 2)), draw.uniform(0, longest_s)):
        kills += 1
        longest_s *= 1.2
        # At every other kill, what is half done is left to spate itself.
        if kills % 2 == 0 or not readable(store):
            continue
        now = runs_of(store)
        if not kept <= now:
            faults.append(f"kill {kills} lost {sorted(kept - now)[:5]}")
        if len(now) > len(kept):
            longest_s /= 1.3
        kept = now
    if dump(store) != dump("eight.sqlite"):
        faults.append(f"sweep {number} differs after {kills} kills")
    if query(store, "PRAGMA integrity_check") != [("ok",)]:
        faults.append(f"sweep {number} is not sound")
    for name in os.listdir("."):
        if name.startswith("killed-"):
            os.remove(name)
    return kills


def kills():
    draw = random.Random(SEED)
    began = time.monotonic()
    process = start("timed.sqlite", "--jobs", "2")
    process.wait()
    whole_s = time.monotonic() - began
    faults, n_kills, n_sweeps = [], 0, 0
    while n_kills < KILLS and n_sweeps < 20 * KILLS:
        n_kills += killed_sweep(n_sweeps, draw, whole_s * 0.12, faults)
        n_sweeps += 1
    check(f"killed {n_kills} times in {n_sweeps} sweeps, nothing is lost or repeated",
          not faults and n_kills >= KILLS, "\n".join(faults) or n_kills)


def interrupted():
    process = subprocess.Popen([SPATE, "sweep", "valley.yaml", "--store", "stopped.sqlite",
                                "--replications", "3000", "--jobs", "2"],
                               stdin=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
    while process.poll() is None and (not os.path.exists("stopped.sqlite") or
                                      os.path.getsize("stopped.sqlite") < 200000):
        time.sleep(0.01)
    process.send_signal(signal.SIGINT)
    said = process.communicate()[1]
    n_runs = len(runs_of("stopped.sqlite"))
    equal("Ctrl-C ends with 130", process.returncode, 130)
    holds("... and says what is kept", said,
          f"spate: interrupted: {n_runs} of {3000 * N_POINTS} runs are in stopped.sqlite; "
          "run the same command again to continue\n")
    n_summed = query("stopped.sqlite", "SELECT count(DISTINCT point) FROM sums")
    equal("... and sums up the points that were begun", n_summed,
          query("stopped.sqlite", "SELECT count(DISTINCT point) FROM runs WHERE replication = 0"))
    done = sweep("stopped.sqlite", "--replications", "1")
    holds("... which are not run again", done.stderr, f" {N_POINTS} runs are in stopped.sqlite, ")
    os.remove("stopped.sqlite")


def no_space(name, store, **options):
    done = sweep(store, "--replications", "8", **options)
    equal(f"{name}: the status", done.returncode, 3)
    holds(f"{name}: what is kept", done.stderr, f" of {8 * N_POINTS} runs are in {store};")
    return done


def full_disk():
    limit = 150_000
    no_space("no more room for the file", "full.sqlite",
             preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)))
    equal("... it is sound", query("full.sqlite", "PRAGMA integrity_check"), [("ok",)])
    n_before = len(runs_of("full.sqlite"))
    check("... some runs are in it", 0 < n_before < 8 * N_POINTS, n_before)
    done = sweep("full.sqlite", "--replications", "8")
    holds("... with room it goes on", done.stderr,
          f"{8 * N_POINTS} runs are in full.sqlite, {8 * N_POINTS - n_before} of them new")
    equal("... to the same end", dump("full.sqlite"), dump("eight.sqlite"))


def full_file_system():
    name = "a full file system"
    os.mkdir("small")
    if os.geteuid() != 0 or subprocess.run(["mount", "-t", "tmpfs", "-o", "size=200k", "none",
                                            "small"], capture_output=True,
                                           check=False).returncode != 0:
        skip(name, "cannot mount one here")
        return
    try:
        done = no_space(name, "small/full.sqlite")
        holds("... and why", done.stderr, "full")
        subprocess.run(["mount", "-o", "remount,size=20m", "small"], check=True)
        sweep("small/full.sqlite", "--replications", "8")
        equal("... goes on when there is space", dump("small/full.sqlite"), dump("eight.sqlite"))
    finally:
        subprocess.run(["umount", "small"], check=True)


# ---- what is refused

def edit(old, new):
    with open("valley.yaml", encoding="utf-8") as file:
        text = file.read()
    assert old in text
    with open("valley.yaml", "w", encoding="utf-8") as file:
        file.write(text.replace(old, new))


def other_sweeps():
    before = dump("whole.sqlite")
    edit("spreading-factor: 9", "spreading-factor: 10")
    refused("a changed scenario", 2, "        line 12: -     spreading-factor: 9\n"
            "        line 12: +     spreading-factor: 10\n", "sweep", "valley.yaml", "--store",
            "whole.sqlite")
    edit("spreading-factor: 10", "spreading-factor: 9")
    for name, part, arguments in (
            ("another setting", "settings differ: none in the store, flooding.hop-limit=3 now",
             ("--set", "flooding.hop-limit=3")),
            ("another seed", "settings differ: none in the store, seed=4 now", ("--seed", "4")),
            ("other points", "other points: 20 points of nodes.soil.count, traffic.talk."
             "mean-interval, nodes.hill.relay in the store, 2 points of nodes.soil.count now",
             ("--vary", "nodes.soil.count=1,2")),
            ("another variant", "other points, by their values", ("--variant", "sparing"))):
        refused(name, 2, part, "sweep", "valley.yaml", "--store", "whole.sqlite", *arguments)
    equal("... and the store stays as it was", dump("whole.sqlite"), before)


def other_files():
    shutil.copy("whole.sqlite", "old.sqlite")
    change("old.sqlite", "UPDATE about SET value = '0.0.9' WHERE key = 'version'")
    storesum.reseal("old.sqlite")
    refused("a store of another version", 2, "it is from spate 0.0.9, not ", "sweep", "valley.yaml",
            "--store", "old.sqlite")
    change("old.sqlite", "PRAGMA user_version = 7")
    refused("a store of another form", 2,
            "old.sqlite: the store has format 7 and this spate reads format 2: ", "sweep",
            "valley.yaml", "--store", "old.sqlite")
    change("foreign.sqlite", "CREATE TABLE birds (name TEXT)")
    refused("another program's SQLite file", 2, "not the store of a sweep", "sweep", "valley.yaml",
            "--store", "foreign.sqlite")
    refused("... to be merged", 2, "not the store of a sweep", "merge", "foreign.sqlite", "--format",
            "csv")
    shutil.copy("valley.yaml", "text.sqlite")
    refused("a file that is not one of SQLite's", 2, "text.sqlite: it is not an SQLite file", "sweep",
            "valley.yaml", "--store", "text.sqlite")
    refused("a store that is not there", 3, "nowhere.sqlite: it cannot be opened: No such file or directory", "merge",
            "nowhere.sqlite", "--format", "csv")
    refused("a place that is not there", 3, "nowhere/a.sqlite: it cannot be opened: No such file or directory", "sweep", "valley.yaml", "--store",
            "nowhere/a.sqlite")
    connection = sqlite3.connect("whole.sqlite", isolation_level=None)
    connection.execute("BEGIN EXCLUSIVE")
    refused("a store in use", 3, "another program is using it", "sweep", "valley.yaml",
            "--store", "whole.sqlite")
    connection.close()


def bad_usage():
    for name, part, arguments in (
            ("a shard that is none", "'5/4' is not K/N", ("--shard", "5/4")),
            ("two designs", "cannot be combined", ("--vary", "seed=1,2", "--design", "d.csv")),
            ("replications varied", "--replications N sets", ("--vary", "run.replications=1,2")),
            ("a path that is not there", "'nodes' has no 'sail'", ("--vary", "nodes.sail.count=1")),
            ("an endless design", "/dev/zero: it is larger than 16 MiB", ("--design", "/dev/zero")),
            ("values that are none", "has no values", ("--vary", "nodes.soil.count")),
            ("--output alone", "--output needs --format", ("--output", "x.csv"))):
        refused(name, 2, part, "sweep", "valley.yaml", "--store", "none.sqlite", *arguments)
    done = spate("sweep", "valley.yaml", "--vary", "nodes.soil.count=4,many", "--store",
                 "none.sqlite")
    holds("a value that does not fit is shown at its point", done.stderr,
          "point 1:1:18: 'many' is not a whole number\n    nodes.soil.count=many\n")
    check("... and no store is made", not os.path.exists("none.sqlite"))


# ---- designs, shards

def foreign_designs():
    """No line of a file that is no design is shown, whatever is wrong with it."""
    for name, text in (("rows that differ", "a secret\nof two, parts\n"), ("one column", "secret\n1\n"),
                       ("a quote", 'secret,"\n'), ("tabs", "secret\tkey\n"), ("both marks", "secret,a;b\n"),
                       ("columns twice", "secret,secret\n1,2\n")):
        with open("foreign.csv", "w", encoding="utf-8") as file:
            file.write(text)
        done = sweep("none.sqlite", "--design", "foreign.csv")
        equal(f"not a design: {name}", (done.returncode, done.stdout, done.stderr), (2, "", (
            "foreign.csv: this is not a design: its first line must name paths of the scenario, as "
            "in "
            "nodes.soil.count\n")))
    for name, text, told in (
            ("a path that is not there", "nodes.sail.count,seed\n1,2\n", "'nodes' has no 'sail'"),
            ("a column that is no path", "colour,nodes.soil.count\n1,2\n", "unknown key 'colour'"),
            ("rows of a design", '\n "nodes.soil.count" ;seed\n1\n', "this row has 1 cell, not 2"),
            ("an empty one", "", "the table is empty")):
        with open("foreign.csv", "w", encoding="utf-8") as file:
            file.write(text)
        done = sweep("none.sqlite", "--design", "foreign.csv")
        holds(f"a fault is shown: {name}", done.stderr, told)


def designs():
    with open("design.csv", "w", encoding="utf-8") as file:
        file.write("nodes.soil.count,traffic.talk.mean-interval\n4,20 s\n8,\n,60 s\n")
    done = sweep("design.sqlite", "--design", "design.csv", "--variant", "base", "--variant",
                 "sparing", "--replications", "1", "--set", "nodes.hill.relay=[]")
    equal("a listed design is run, for each variant", (done.returncode, query(
        "design.sqlite", "SELECT * FROM design")), (0, [
            (0, "base", "4", "20 s"), (1, "base", "8", None), (2, "base", None, "60 s"),
            (3, "sparing", "4", "20 s"), (4, "sparing", "8", None), (5, "sparing", None, "60 s")]))
    values = {row["point"]: row["measures"] for row in json.loads(as_json("design.sqlite"))["points"]}
    run = spate("run", "valley.yaml", "--replications", "1", "--variant", "sparing", "--set",
                "nodes.hill.relay=[]", "--set", "nodes.soil.count=8", "--format", "json")
    equal("... as spate run would", values[4], json.loads(run.stdout)["variants"][0]["measures"])


def shards():
    stores = []
    for k in (1, 2, 3):
        done = spate("sweep", "valley.yaml", "--shard", f"{k}/3", "--quiet")
        stores.append(f"valley.{k}-of-3.sqlite")
        check(f"shard {k} of 3 has its own store", done.returncode == 0 and
              os.path.exists(stores[-1]), done.stderr)
    dealt = [runs_of(store) for store in stores]
    equal("shards share all runs out", (len(set().union(*dealt)), sum(map(len, dealt))),
          (N_RUNS, N_RUNS))
    done = spate("merge", *reversed(stores), "--output", "joined.sqlite")
    equal("shards are joined", (done.returncode, done.stderr),
          (0, f"spate: {N_RUNS} runs at {N_POINTS} of {N_POINTS} points\n"))
    equal("... to the whole", dump("joined.sqlite"), dump("whole.sqlite"))
    equal("... the same bytes as text", as_json(*stores), as_json("whole.sqlite"))
    spate("merge", *stores, stores[0], "--output", "joined.sqlite")
    equal("merging once more changes nothing", dump("joined.sqlite"), dump("whole.sqlite"))
    spate("merge", "joined.sqlite", "--output", "joined.sqlite")
    equal("... nor does merging a store into itself", dump("joined.sqlite"), dump("whole.sqlite"))
    done = spate("merge", *stores[:2], "--output", "part.sqlite")
    equal("merge reports points that are missing, and how to get them",
          (done.returncode, done.stderr),
          (0, f"spate: {N_RUNS - len(dealt[2])} runs at 14 of 20 points\n"
           "spate: 6 of 20 points have no runs: 2, 5, 8, 11, 14, 17\n"
           "spate: to complete them, run spate sweep again for the missing or unfinished shards and "
           "merge again, or run it without --shard and with --store on a "
           "merged store\n"))
    equal("... not with --quiet", spate("merge", stores[0], "--output", "quiet.sqlite",
                                        "--quiet").stderr, "")
    done = sweep("part.sqlite")
    equal("a joined store can be swept further", (done.stderr, dump("part.sqlite")), (
        f"spate: {N_RUNS} runs are in part.sqlite, {len(dealt[2])} of them new\n",
        dump("whole.sqlite")))
    return stores


def told_shards():
    """Shards may share a store: each tells what of its own is there, not of all."""
    for k, n_runs, n_new in (("1/4", 2, 2), ("2/4", 2, 2), ("2/4", 2, 0), ("4/4", 0, 0)):
        done = spate("sweep", "valley.yaml", "--vary", "nodes.soil.count=2,3,4", "--shard", k,
                     "--replications", "2", "--store", "told.sqlite")
        equal(f"shard {k} tells its own share", done.stderr,
              f"spate: {n_runs} runs of shard {k} are in told.sqlite, {n_new} of them new\n")


def short_shards():
    """A shard that was stopped early: some of its points have fewer runs than others."""
    for shard, replications in (("1/2", "3"), ("2/2", "5")):
        spate("sweep", "valley.yaml", "--vary", "nodes.soil.count=2,3,4,5", "--shard", shard,
              "--replications", replications, "--store", f"short-{shard[0]}.sqlite", "--quiet")
    done = spate("merge", "short-1.sqlite", "short-2.sqlite", "--format", "csv", "--output",
                 "short.csv")
    equal("merge reports points that have fewer runs than others", done.stderr.splitlines()[:2],
          ["spate: 16 runs at 4 of 4 points", "spate: 2 of 4 points have fewer than 5 runs: 0, 2"])


def bad_merges(stores):
    shutil.copy(stores[0], "wrong.sqlite")
    change("wrong.sqlite", "UPDATE samples SET value = value + 1 WHERE replication = 2"
           " AND point = 3 AND measure = (SELECT max(measure) FROM measures)")
    storesum.reseal("wrong.sqlite")
    before = dump("joined.sqlite")
    refused("contradicting runs", 2, "wrong.sqlite contradicts an earlier store: point 3, "
            "replication 2 has other values", "merge", stores[0], "wrong.sqlite", "--output",
            "joined.sqlite")
    shutil.copy(stores[0], "lacking.sqlite")
    change("lacking.sqlite", "DELETE FROM samples WHERE point = 6"
           " AND measure = (SELECT max(measure) FROM measures)")
    storesum.reseal("lacking.sqlite")
    refused("a run with less than it had", 2, "point 6, has other measures", "merge", stores[0],
            "lacking.sqlite", "--output", "new.sqlite")
    refused("... the other way round", 2, "point 6, ", "merge", "lacking.sqlite",
            stores[0], "--output", "new.sqlite")
    refused("another sweep", 2, "design.sqlite cannot be merged: ", "merge", stores[0],
            "design.sqlite", "--output", "joined.sqlite")
    refused("no stores", 2, "merge takes one or more stores", "merge", "--output", "joined.sqlite")
    refused("nowhere to go", 2, "merge needs --output STORE", "merge", stores[0])
    equal("... and the output stays as it was", dump("joined.sqlite"), before)
    check("nothing half done is left", not os.path.exists("new.sqlite") and
          not [name for name in os.listdir(".") if ".part" in name], os.listdir("."))


# ---- stores that were changed, removed or given by others

DAMAGE = {
    "a sample is deleted": "DELETE FROM samples WHERE point = 3 AND replication = 2"
                           " AND measure = 1",
    "a run's samples are deleted": "DELETE FROM samples WHERE point = 3 AND replication = 2",
    "a run is deleted": "DELETE FROM runs WHERE point = 3 AND replication = 2",
    "a run is deleted with its samples": "DELETE FROM runs WHERE point = 3 AND replication = 2;"
                                         "DELETE FROM samples WHERE point = 3 AND replication = 2",
    "a value is changed": "UPDATE samples SET value = value + 1 WHERE point = 3 AND measure = 2",
    "a sum is changed": "UPDATE sums SET mean = mean + 1 WHERE point = 3 AND measure = 2",
    "a value is text": "UPDATE samples SET value = 'much' WHERE point = 3 AND measure = 2",
    "a measure has another name": "UPDATE measures SET name = (SELECT name FROM measures WHERE"
                                  " measure = 9) WHERE measure = 1",
    "the title is changed": "UPDATE about SET value = 'Hill' WHERE key = 'title'",
    "the title is not UTF-8": "UPDATE about SET value = CAST(x'ff41' AS TEXT) WHERE key = 'title'",
    "the title is no text": "UPDATE about SET value = x'41' WHERE key = 'title'",
    "a setting is changed": "UPDATE settings SET value = '99' WHERE point = 2 AND path = 0",
    "a point is missing": "DELETE FROM points WHERE point = 7",
    "what a store is about is missing": "DELETE FROM about WHERE key = 'sha256'",
    "a view without end": "DROP VIEW results; CREATE VIEW results AS WITH RECURSIVE n(i) AS"
                          " (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i FROM n",
    "a table that is a view without end":
        "DROP TABLE runs; CREATE VIEW runs AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL"
        " SELECT i + 1 FROM n) SELECT 0 AS point, i AS replication FROM n",
    "a trigger": "CREATE TRIGGER t AFTER INSERT ON runs BEGIN DELETE FROM samples; END",
    "an index": "CREATE INDEX i ON samples (value)",
    "a table of somebody's": "CREATE TABLE birds (name TEXT)",
}


def damaged():
    for name, text in DAMAGE.items():
        shutil.copy("whole.sqlite", "damaged.sqlite")
        change("damaged.sqlite", text)
        before = content("damaged.sqlite")
        for command in (["merge", "damaged.sqlite", "--format", "csv"],
                        ["sweep", "valley.yaml", "--store", "damaged.sqlite"]):
            done = spate(*command, timeout=patience(60))
            check(f"{name}: {command[0]} says so", done.returncode == 3 and done.stdout == "" and
                  "damaged.sqlite: the store is damaged or was edited: " in done.stderr,
                  f"{done.returncode} {done.stderr}")
        equal("... and leaves it alone", content("damaged.sqlite"), before)


def killed_at_work(store):
    """A store and its journal, as a kill in the middle of a batch leaves them."""
    shutil.copy("whole.sqlite", "work.sqlite")
    connection = sqlite3.connect("work.sqlite", isolation_level=None)
    # With so little memory, pages go to the disk before the end.
    for text in ("PRAGMA cache_size = 2", "BEGIN", "UPDATE samples SET value = value + 1"):
        connection.execute(text)
    shutil.copy("work.sqlite", store)
    shutil.copy("work.sqlite-journal", store + "-journal")
    connection.execute("ROLLBACK")
    connection.close()
    os.remove("work.sqlite")
    assert content(store) != content("whole.sqlite") and \
        content(store + "-journal")[:4] == b"\xd9\xd5\x05\xf9"


def journal_alone(stores):
    """A journal would be rolled into the next store of its name."""
    killed_at_work("gone.sqlite")
    shutil.copy("gone.sqlite", "moved.sqlite")
    os.remove("gone.sqlite")
    journal = content("gone.sqlite-journal")
    part = "gone.sqlite-journal belongs to a missing store: put that store back next to it, " \
           "or remove gone.sqlite-journal"
    refused("merging beside the journal of a store that is gone", 2, part, "merge", *stores,
            "--output", "gone.sqlite")
    refused("sweeping there", 2, part, "sweep", "valley.yaml", "--store", "gone.sqlite")
    equal("... the journal stays", content("gone.sqlite-journal"), journal)
    check("... and no store comes", not os.path.exists("gone.sqlite"))
    with open("gone.sqlite", "wb"):
        refused("beside an empty file", 2, part, "sweep", "valley.yaml", "--store", "gone.sqlite")
    os.rename("moved.sqlite", "gone.sqlite")
    equal("put back, the store is as it was before the batch",
          (sweep("gone.sqlite").returncode, dump("gone.sqlite")), (0, dump("whole.sqlite")))
    os.remove("gone.sqlite")
    with open("gone.sqlite-journal", "wb") as file:
        file.write(b"a diary")
    refused("a file of that name that is no journal", 2, part, "merge", *stores, "--output",
            "gone.sqlite")
    os.remove("gone.sqlite-journal")


def void_journal():
    """A kill between a batch and the end leaves a journal that undoes nothing."""
    shutil.copy("whole.sqlite", "again.sqlite")
    with open("again.sqlite-journal", "wb") as file:
        file.write(bytes(512))
    sweep("again.sqlite")
    equal("a journal that undoes nothing goes", (os.path.exists("again.sqlite-journal"),
                                                 dump("again.sqlite")),
          (False, dump("whole.sqlite")))


def moved():
    """What goes on into a file that has lost its name is not reported as kept."""
    for name, act in (("removed", lambda: os.remove("lost.sqlite")),
                      ("replaced", lambda: shutil.move("whole-2.sqlite", "lost.sqlite"))):
        shutil.copy("whole.sqlite", "whole-2.sqlite")
        process = subprocess.Popen([SPATE, "sweep", "valley.yaml", "--store", "lost.sqlite",
                                    "--replications", "3000"], stdin=subprocess.DEVNULL,
                                   stderr=subprocess.PIPE, text=True)
        while process.poll() is None and not (os.path.exists("lost.sqlite") and
                                              os.path.getsize("lost.sqlite") > 100_000):
            time.sleep(0.001)
        act()
        said = process.communicate()[1]
        equal(f"a store that is {name} under a sweep", (process.returncode, said), (
            3, "spate: lost.sqlite: it was removed or replaced while in use, so the new runs are "
            "lost; start again\n"))
    equal("... what replaced it is as it was", dump("lost.sqlite"), dump("whole.sqlite"))
    for path in ("lost.sqlite", "lost.sqlite-journal"):
        if os.path.exists(path):
            os.remove(path)


def merges_in_place(stores):
    """The output is written where it is: nothing beside it is touched, and its mode stays."""
    with open("own.sqlite.part", "w", encoding="utf-8") as file:
        file.write("mine\n")
    spate("merge", *stores, "--output", "own.sqlite")
    equal("merge touches no file called OUTPUT.part", content("own.sqlite.part"), b"mine\n")
    os.rename("own.sqlite", "own.sqlite.part")
    spate("merge", "own.sqlite.part", "--output", "own.sqlite")
    equal("... even if it is its input", (dump("own.sqlite.part"), dump("own.sqlite")),
          (dump("whole.sqlite"), dump("whole.sqlite")))
    shutil.copy(stores[0], "own.sqlite")
    os.chmod("own.sqlite", 0o600)
    os.symlink("own.sqlite", "link.sqlite")
    spate("merge", *stores, "--output", "link.sqlite")
    equal("the output keeps its mode, and a link its file",
          (os.stat("own.sqlite").st_mode & 0o777, os.path.islink("link.sqlite"),
           dump("own.sqlite")), (0o600, True, dump("whole.sqlite")))
    for path in ("own.sqlite", "own.sqlite.part", "link.sqlite"):
        os.remove(path)


def main():
    work = tempfile.mkdtemp()
    try:
        os.chdir(work)
        shutil.copy(os.path.join(FOLDER, "valley.yaml"), work)
        undisturbed()
        points_are_runs()
        text_formats()
        more_replications()
        kills()
        interrupted()
        full_disk()
        full_file_system()
        other_sweeps()
        other_files()
        bad_usage()
        foreign_designs()
        designs()
        stores = shards()
        bad_merges(stores)
        told_shards()
        short_shards()
        merges_in_place(stores)
        journal_alone(stores)
        void_journal()
        moved()
        damaged()
    finally:
        os.chdir("/")
        shutil.rmtree(work)
    end()


main()
