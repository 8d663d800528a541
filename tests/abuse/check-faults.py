#!/usr/bin/env python3
"""check-faults.py SPATE SHIM [ALL] - calls that read or write fail in turn, in TAP

A run ends with status 0 (or 1) and the whole output, or with status 3, a reason on standard error, and
the output as it was before; whatever fails, nothing else stays behind.  Standard output cannot be
taken back: there a part may stand, but never with status 0.  With ALL each call fails, else those that
lie further apart the later they come, and only in each second way.
"""

import errno
import os
import tempfile

import abuse
import sys

SHIM = os.path.realpath(sys.argv[2])
IS_EACH = len(sys.argv) > 3

# How a call may fail, by open(2), read(2), write(2), fsync(2), close(2), rename(2).
FAULTS = [
    ("open", errno.EIO, False),
    ("open", errno.EMFILE, True),
    ("read", errno.EIO, False),
    ("read", errno.EINTR, False),
    ("read", "short", True),
    ("write", errno.EIO, False),
    ("write", errno.ENOSPC, True),
    ("write", errno.EPIPE, True),
    ("write", errno.EINTR, False),
    ("write", errno.EAGAIN, False),
    ("write", "short", False),
    ("write", "short", True),
    ("fsync", errno.EIO, False),
    ("fsync", errno.EINTR, False),
    ("close", errno.EIO, False),
    ("close", errno.ENOSPC, True),
    ("close", errno.EINTR, True),
    ("rename", errno.EIO, False),
    ("rename", errno.ENOSPC, True),
    ("fchmod", errno.EPERM, True),
]
if not IS_EACH:
    FAULTS = FAULTS[::2]
LEAST_FAILED = 8 if IS_EACH else 4
# These are no failures: the call is made again, or goes on where it ended.
HARMLESS = {errno.EINTR, errno.EAGAIN, errno.EPERM, "short"}

# Where no test removes it.
SIZED_FOLDER = tempfile.TemporaryDirectory()
SIZED = os.path.join(SIZED_FOLDER.name, "sized.yaml")
with open(abuse.SMALL, encoding="utf-8") as small, open(SIZED, "w", encoding="utf-8") as sized:
    sized.write(small.read() + "\nsize: {vary: nodes.sensor.count, from: 1, to: 3}\n")
SHORT = ["--replications", "2", "--set", "run.duration=150 s", "--quiet"]
COMMANDS = [
    ["new", "--force"],
    ["airtime", "--format", "table"],
    ["airtime", "--format", "csv"],
    ["airtime", "--format", "json"],
    ["advise", abuse.SMALL, *SHORT],
    ["links", abuse.SMALL, "--format", "json"],
    ["lint", abuse.SMALL, "--set", "bearers.valley.duty-cycle=50 %"],
    ["check", abuse.SMALL],
    ["check", abuse.SMALL, "--format", "junit"],
    ["run", abuse.SMALL],
    ["run", abuse.SMALL, "--format", "csv"],
    ["run", abuse.SMALL, "--format", "json", "--events", "e.jsonl", "--capture", "c.pcapng",
     "--replications", "1", "--set", "run.duration=150 s"],
    ["size", SIZED, *SHORT, "--format", "json"],
    ["advise", abuse.SMALL, "--relays", *SHORT],
    ["compare", abuse.SMALL, "--format", "table"],
    ["compare", abuse.SMALL, "--format", "json"],
]
LOGS = ["e.jsonl", "c.pcapng"]


def is_finished(done):
    """Status 1 too: an answer that nothing meets all, or that something is not met."""
    return done.returncode in (0, 1)


def name_of(how):
    return how if how == "short" else errno.errorcode[how]


def wrongs_of_file(path, whole, done, is_only):
    """Whole with status 0, else as it was; one that is whole beside one that is not may stay."""
    got = abuse.content(path)
    if is_finished(done):
        return [] if got == whole else [f"{path}: not whole with status {done.returncode}"]
    if got == abuse.OLD or (got == whole and not is_only):
        return []
    return [f"{path}: neither as before nor whole"]


def wrongs_of(done, whole, outputs, how):
    wrongs = []
    if done.returncode not in (0, 1, 3) or abuse.is_sanitized(done):
        wrongs.append(f"status {done.returncode}: {done.stderr[:300]}")
    if done.returncode == 3 and (done.stderr[:7] != b"spate: " and b"cannot be read" not in done.stderr):
        wrongs.append(f"no reason: {done.stderr}")
    if done.returncode == 3 and how in HARMLESS:
        wrongs.append(f"failed without need: {done.stderr}")
    for path in outputs:
        wrongs += wrongs_of_file(path, whole[path], done, len(outputs) == 1)
    if done.stdout != whole[""] and (is_finished(done) or not whole[""].startswith(done.stdout)):
        wrongs.append("standard output is neither whole nor a beginning")
    extra = set(os.listdir()) - {"mark", *outputs}
    if extra:
        wrongs.append(f"left behind: {extra}")
    return wrongs


def is_marked():
    if not os.path.exists("mark"):
        return False
    os.remove("mark")
    return True


def prepare(outputs):
    for path in os.listdir():
        os.remove(path)
    for path in outputs:
        abuse.write(path, abuse.OLD)


def try_fault(command, outputs, whole, fault):
    """Calls of a kind, one after the other: until there are no more of them."""
    call, how, goes_on = fault
    wrongs = []
    n_failed, nth = 0, 1
    while True:
        prepare(outputs)
        done = abuse.spate(command, env=abuse.failing(SHIM, call, nth, how, goes_on))
        wrongs += [f"{call} {nth}, {name_of(how)}: {wrong}"
                   for wrong in wrongs_of(done, whole, outputs, how)]
        if not is_marked():
            return n_failed, wrongs
        n_failed += 1
        nth += 1 if IS_EACH else 1 + nth // 4


def try_command(command, to_file):
    outputs = [path for path in LOGS if path in command]
    if to_file or outputs:
        command = command + ["--output", "out"]
        outputs = outputs + ["out"]
    prepare(outputs)
    done = abuse.spate(command)
    whole = {path: abuse.content(path) for path in outputs}
    whole[""] = done.stdout
    assert is_finished(done), done.stderr
    n_failed, wrongs = 0, []
    for fault in FAULTS:
        n, wrong = try_fault(command, outputs, whole, fault)
        n_failed += n
        wrongs += wrong
    words = " ".join(os.path.basename(word) for word in command)
    if n_failed < LEAST_FAILED:
        wrongs.append(f"only {n_failed} calls were seen to fail")
    abuse.check(f"{words}: {n_failed} failing calls", wrongs)


def main():
    with abuse.work_folder():
        for i, command in enumerate(COMMANDS):
            try_command(command, True)
            # How standard output is written does not depend on what is written.
            if i % 3 == 0:
                try_command(command, False)
    abuse.end()


main()
