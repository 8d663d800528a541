#!/usr/bin/env python3
"""check-store-faults.py SPATE SHIM [ALL] - calls of SQLite fail in turn under sweep and merge, in TAP

A sweep or a merge ends with status 0 and the whole store, or with status 3 and a reason.  Then a merge
leaves its output as it was; of a sweep what is in the store is right; and the same command, run again
without faults, gives the whole store and leaves nothing else.  With ALL each call fails, else those
that lie further apart the later they come, only in each second way, and nothing is run again.
"""

import errno
import os
import shutil

import abuse
import sys

SHIM = os.path.realpath(sys.argv[2])
IS_EACH = len(sys.argv) > 3

FAULTS = [("open", errno.EIO, False), ("open", errno.EMFILE, True), ("read", errno.EIO, False),
          ("read", errno.EIO, True), ("read", errno.EINTR, False), ("write", errno.EIO, False),
          ("write", errno.ENOSPC, True), ("write", errno.EINTR, False), ("write", "short", True),
          ("fsync", errno.EIO, False), ("fsync", errno.EIO, True), ("close", errno.EIO, False),
          ("truncate", errno.EIO, True), ("unlink", errno.EIO, False)]
if not IS_EACH:
    FAULTS = FAULTS[::2]
LEAST_FAILED = 30 if IS_EACH else 15
SWEEP = ["sweep", abuse.SMALL, "--vary", "traffic.talk.payload=20 bytes,30 bytes,40 bytes",
         "--replications", "2", "--jobs", "1", "--quiet"]
OUT = ["out.sqlite", "out.sqlite-journal"]


def text_of(store):
    done = abuse.spate(["merge", store, "--format", "json", "--quiet"])
    return done.stdout if done.returncode == 0 else done.stderr


def outputs():
    return {name for name in os.listdir() if name.startswith("out.")}


def prepare(before):
    for name in outputs() | ({"mark"} & set(os.listdir())):
        os.remove(name)
    if before:
        shutil.copy(before, "out.sqlite")


def wrongs_of(command, before, whole, fault):
    """Of one call; None: there was none."""
    prepare(before)
    done = abuse.spate(command, env=abuse.failing(SHIM, *fault))
    if not os.path.exists("mark"):
        return None
    wrongs = []
    if done.returncode not in (0, 3) or abuse.is_sanitized(done):
        wrongs.append(f"status {done.returncode}: {done.stderr[:300]}")
    if done.returncode == 3 and not done.stderr.startswith(b"spate: "):
        wrongs.append(f"no reason: {done.stderr}")
    is_merge = command[0] == "merge"
    if done.returncode == 0 and text_of("out.sqlite") != whole:
        wrongs.append("not whole with status 0")
    elif done.returncode != 0 and is_merge and before and text_of("out.sqlite") != text_of(before):
        wrongs.append("the output is not as it was")
    elif done.returncode != 0 and is_merge and not before and outputs() and fault[0] != "unlink":
        wrongs.append(f"left behind: {outputs()}")
    if not outputs() <= set(OUT):
        wrongs.append(f"left behind: {outputs()}")
    # That a second run mends all is a matter of files, not of memory.
    if not IS_EACH:
        return wrongs
    again = abuse.spate(command)
    if again.returncode != 0 or text_of("out.sqlite") != whole or outputs() != {"out.sqlite"}:
        wrongs.append(f"again: status {again.returncode}, {outputs()}: {again.stderr[:300]}")
    return wrongs


def check_command(name, command, before, whole):
    wrongs, n_failed = [], 0
    for call, how, goes_on in FAULTS:
        nth = 1
        while (found := wrongs_of(command, before, whole, (call, nth, how, goes_on))) is not None:
            wrongs += [f"{call} {nth}, {how}: {wrong}" for wrong in found]
            n_failed += 1
            nth += 1 if IS_EACH else 1 + nth // 2
    if n_failed < LEAST_FAILED:
        wrongs.append(f"only {n_failed} calls were seen to fail")
    abuse.check(f"{name}: {n_failed} failing calls", wrongs)


def main():
    with abuse.work_folder():
        for k in ("1", "2"):
            abuse.spate([*SWEEP, "--shard", f"{k}/2", "--store", f"shard-{k}.sqlite"])
        abuse.spate([*SWEEP, "--store", "whole.sqlite"])
        whole = text_of("whole.sqlite")
        assert whole.startswith(b"{"), whole
        check_command("sweep", [*SWEEP, "--store", "out.sqlite"], None, whole)
        merge = ["merge", "shard-1.sqlite", "shard-2.sqlite", "--output", "out.sqlite", "--quiet"]
        check_command("merge into a new store", merge, None, whole)
        check_command("merge into a store", merge, "shard-1.sqlite", whole)
    abuse.end()


main()
