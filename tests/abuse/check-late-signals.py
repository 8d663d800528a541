#!/usr/bin/env python3
"""check-late-signals.py SPATE SHIM - a signal right after each call that writes, in TAP

A command with one output file ends with status 0 and the whole file, or with status 130 and the
file as it was before: never with 130 and a whole file, as if what is there had been lost.  Nothing
else stays behind.  The same calls are signalled as fail in check-faults.py.
"""

import os
import sys

import abuse

SHIM = os.path.realpath(sys.argv[2])
SHORT = ["--set", "run.duration=3 min", "--quiet"]
CALLS = ["open", "write", "fsync", "close", "rename", "link"]
COMMANDS = [
    ["new"],
    ["new", "--force"],
    ["airtime"],
    ["links", abuse.SMALL],
    ["lint", abuse.SMALL],
    ["report", "RESULT"],
    ["run", abuse.SMALL, *SHORT],
    ["compare", abuse.SMALL, *SHORT, "--format", "csv"],
    ["check", abuse.SMALL, *SHORT],
    ["advise", abuse.SMALL, *SHORT, "--replications", "2", "--format", "json"],
]


def prepare(command):
    """`new` alone wants nothing in its place; all others replace what is there."""
    for path in os.listdir():
        os.remove(path)
    if command != ["new"]:
        abuse.write("out", abuse.OLD)


def wrongs_of(done, before, whole, good):
    got = abuse.content("out")
    wrongs = []
    if done.returncode not in (good, 130) or abuse.is_sanitized(done):
        wrongs.append(f"status {done.returncode}: {done.stderr[:300]}")
    if done.returncode == good and got != whole:
        wrongs.append(f"status {good} without the whole file")
    # A study that was interrupted writes what was finished, and says so.
    is_kept = b"finished and kept" in done.stderr or b"judged by what" in done.stderr
    if done.returncode == 130 and got != before and not is_kept:
        wrongs.append(f"status 130 beside a new file: {done.stderr[:300]}")
    extra = set(os.listdir()) - {"mark", "out"}
    return wrongs + ([f"left behind: {extra}"] if extra else [])


def try_command(command):
    command = [os.environ["RESULT"] if word == "RESULT" else word for word in command]
    prepare(command)
    before = abuse.content("out")
    good = abuse.spate([*command, "--output", "out"])
    whole = abuse.content("out")
    wrongs, n, n_ended = [], 0, 0
    for call in CALLS:
        nth, is_marked = 1, True
        while is_marked:
            prepare(command)
            done = abuse.spate([*command, "--output", "out"], env=abuse.failing(SHIM, call, nth, "signal"))
            is_marked = os.path.exists("mark")
            wrongs += [f"{call} {nth}: {wrong}"
                       for wrong in wrongs_of(done, before, whole, good.returncode)]
            n += is_marked
            n_ended += done.returncode == 130
            nth += 1
    if good.returncode not in (0, 1) or n < 3:
        wrongs.append(f"only {n} signals: {good.stderr[:300]}")
    abuse.check(f"{' '.join(os.path.basename(word) for word in command)}: {n} signals, "
                f"{n_ended} of them in time", wrongs)


def main():
    with abuse.work_folder():
        result = os.path.abspath("result.json")
        abuse.spate(["run", abuse.SMALL, *SHORT, "--format", "json", "--output", result])
        os.environ["RESULT"] = result
        os.mkdir("here")
        os.chdir("here")
        for command in COMMANDS:
            try_command(command)
    abuse.end()


main()
