"""What the tests of the program share: one line of TAP for each thing that is checked."""

import os
import sys

# How many times longer than on an idle machine things may take; SPATE_SLOWNESS says it.
SLOWNESS = float(os.environ.get("SPATE_SLOWNESS", "3"))

count = 0
failures = 0


def patience(idle_s):
    """How long to wait for what takes so many seconds at most on an idle machine."""
    return idle_s * SLOWNESS


def check(name, good, why=""):
    global count, failures
    count += 1
    failures += not good
    print(f"{'ok' if good else 'not ok'} {count} - {name}", flush=True)
    if not good:
        print("\n".join(f"# {line}" for line in str(why)[:3000].splitlines()))


def equal(name, got, wanted):
    check(name, got == wanted, f"got {str(got)[:300]!r}, not {str(wanted)[:300]!r}")


def skip(name, why):
    global count
    count += 1
    print(f"ok {count} - {name} # SKIP {why}", flush=True)


def end():
    """The plan; ends the program."""
    print(f"1..{count}")
    sys.exit(1 if failures else 0)
