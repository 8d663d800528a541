#!/usr/bin/env python3
"""check-writers.py SPATE [KILLS [PAIRS [SEED]]] - kills and simultaneous writers of stores, in TAP

A sweep or a merge is killed at any moment: what was in the store before is in it afterwards, and the
same command, run again, gives the same store as if it had never been killed.  Two programs that
write to one store at once: each succeeds or says that the other is at work; what one that succeeded
wrote is there.  Moments come from the seed, and from how long the work takes here.

By hand: check-writers.py build-gcc/src/cli/spate 1000 500
"""

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import time

import abuse
import sys

KILLS = int(sys.argv[2]) if len(sys.argv) > 2 else 10
PAIRS = int(sys.argv[3]) if len(sys.argv) > 3 else 9
SEED = int(sys.argv[4]) if len(sys.argv) > 4 else 1
SHARDS = 3
VALLEY = os.path.join(abuse.FOLDER, "..", "cli", "valley.yaml")


def query(store, text):
    """Reads as any program would; first undoes what a kill left half done."""
    with sqlite3.connect(f"file:{store}?mode=rw", uri=True) as connection:
        rows = connection.execute(text).fetchall()
    connection.close()
    return rows


def runs_of(store):
    """None: nothing is there yet."""
    if not os.path.exists(store) or os.path.getsize(store) == 0:
        return set()
    if not query(store, "SELECT 1 FROM sqlite_master WHERE name = 'runs'"):
        return set()
    return set(query(store, "SELECT point, replication FROM runs"))


def text_of(store):
    done = abuse.spate(["merge", store, "--format", "json", "--quiet"])
    return done.stdout if done.returncode == 0 else done.stderr


def sweep(store, replications, *more):
    return ["sweep", "valley.yaml", "--store", store, "--replications", str(replications),
            "--quiet", *more]


def start(command):
    return subprocess.Popen([abuse.SPATE, *command], stdin=subprocess.DEVNULL,
                            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)


def timed(command):
    began = time.monotonic()
    done = abuse.spate(command)
    assert done.returncode == 0, done.stderr
    return time.monotonic() - began


def remove(*names):
    for name in os.listdir():
        if name.startswith(names):
            os.remove(name)


def prepare():
    """Shards, the whole, and a store of half of the runs."""
    shutil.copy(VALLEY, "valley.yaml")
    timed(sweep("half.sqlite", 6))
    for k in range(SHARDS):
        timed(sweep(f"shard-{k}.sqlite", 12, "--shard", f"{k + 1}/{SHARDS}"))
    timed(sweep("whole.sqlite", 12))
    return [f"shard-{k}.sqlite" for k in range(SHARDS)]


def begin(is_old):
    """An output that is new, or has something in it already."""
    remove("out.")
    if is_old:
        shutil.copy("half.sqlite", "out.sqlite")


def kill_until_done(command, longest_s, draw, wrongs, left):
    """How often; a kill that came before anything was done makes the next one come later."""
    n_kills, kept = 0, runs_of("out.sqlite")
    while left - n_kills > 0:
        process = start(command)
        try:
            process.wait(draw.uniform(0, longest_s))
            return n_kills, process.returncode
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        n_kills += 1
        longest_s *= 1.15
        # Every other time, what is half done is left to spate itself.
        if draw.random() < 0.5:
            now = runs_of("out.sqlite")
            if not kept <= now:
                wrongs.append(f"a kill lost {sorted(kept - now)[:5]}")
            kept = now
    return n_kills, abuse.spate(command).returncode


def check_kills(name, command, draw, n_kills, fraction):
    begin(True)
    whole_s, whole = timed(command), text_of("whole.sqlite")
    wrongs, n_done, n_works = [], 0, 0
    while n_done < n_kills and n_works < 20 * n_kills:
        begin(n_works % 2 == 1)
        n, status = kill_until_done(command, whole_s * fraction, draw, wrongs, n_kills - n_done)
        n_done += n
        n_works += 1
        if status != 0:
            wrongs.append(f"after {n} kills: status {status}")
        if text_of("out.sqlite") != whole:
            wrongs.append(f"after {n} kills the store differs: {text_of('out.sqlite')[:200]}")
        extra = [path for path in os.listdir() if path.startswith("out.") and path != "out.sqlite"]
        if extra:
            wrongs.append(f"left behind: {extra}")
    abuse.check(f"{name}: {n_done} kills of {n_works}", wrongs)


def check_signals(shards, draw, n_signals):
    """Told to end, merge leaves nothing: the output is whole, or as it was."""
    command = ["merge", *shards, "--output", "out.sqlite", "--quiet"]
    begin(True)
    whole_s, whole, half = timed(command), text_of("whole.sqlite"), text_of("half.sqlite")
    wrongs, n_ended = [], 0
    for i in range(n_signals):
        is_old = i % 2 == 1
        begin(is_old)
        process = start(command)
        time.sleep(draw.uniform(0, whole_s))
        process.send_signal(draw.choice([signal.SIGINT, signal.SIGTERM, signal.SIGHUP]))
        _, err = process.communicate()
        n_ended += process.returncode == 130
        names = {path for path in os.listdir() if path.startswith("out.")}
        # Negative: it was not the program yet, but being loaded.
        if process.returncode not in (0, 130) and (process.returncode > 0 or err):
            wrongs.append(f"status {process.returncode}: {err}")
        if process.returncode == 130 and b"interrupted" not in err:
            wrongs.append(f"not said: {err}")
        if names != ({"out.sqlite"} if is_old or process.returncode == 0 else set()):
            wrongs.append(f"status {process.returncode} leaves {names}")
        elif names and text_of("out.sqlite") != (whole if process.returncode == 0 else half):
            wrongs.append(f"status {process.returncode}, and the output is another")
    abuse.check(f"signals to merge: {n_signals}, {n_ended} of them in time", wrongs)


def wrongs_of_pair(commands, results, needs):
    wrongs = []
    for command, (status, err) in zip(commands, results):
        if status not in (0, 3) or (status == 3 and b"another program is using it" not in err
                                    and b"it was removed or replaced" not in err):
            wrongs.append(f"{command[0]}: status {status}: {err[:200]}")
    if all(status != 0 for status, _ in results):
        wrongs.append("neither succeeded")
    found = runs_of("out.sqlite")
    for (status, _), need in zip(results, needs):
        if status == 0 and not need <= found:
            wrongs.append(f"success, and {len(need - found)} runs are not there")
    done = abuse.spate(["merge", "out.sqlite", "--format", "csv"])
    if done.returncode != 0:
        wrongs.append(f"the store cannot be read: {done.stderr}")
    return wrongs


def check_pairs(name, commands, needs, draw, n_pairs):
    begin(True)
    longest_s = max(timed(command) for command in commands)
    wrongs, n_both = [], 0
    for i in range(n_pairs):
        begin(i % 2 == 1)
        processes = [start(commands[0])]
        time.sleep(draw.uniform(0, longest_s))
        processes.append(start(commands[1]))
        results = []
        for process in processes:
            _, err = process.communicate()
            results.append((process.returncode, err))
        n_both += all(status == 0 for status, _ in results)
        wrongs += wrongs_of_pair(commands, results, needs)
    abuse.check(f"{name}: {n_pairs} pairs, both succeeded in {n_both}", wrongs)


def main():
    draw = random.Random(SEED)
    with abuse.work_folder():
        shards = prepare()
        merge = ["merge", *shards, "--output", "out.sqlite", "--quiet"]
        check_kills("a sweep", sweep("out.sqlite", 12, "--jobs", "2"), draw, (KILLS + 1) // 2, 0.3)
        check_kills("a merge", merge, draw, KILLS // 2, 1)
        check_signals(shards, draw, max(KILLS // 2, 5))
        whole = runs_of("whole.sqlite")
        some = {run for run in whole if run[1] < 8}
        parts = [runs_of(shard) for shard in shards]
        check_pairs("sweep and sweep", [sweep("out.sqlite", 12), sweep("out.sqlite", 8)],
                    [whole, some], draw, (PAIRS + 2) // 3)
        check_pairs("sweep and merge", [merge[:-2] + ["out.sqlite", "--quiet"],
                                        sweep("out.sqlite", 8)], [whole, some], draw,
                    (PAIRS + 1) // 3)
        check_pairs("merge and merge", [["merge", shards[k], "--output", "out.sqlite", "--quiet"]
                                        for k in (0, 1)], parts, draw, PAIRS // 3)
    abuse.end()


main()
