"""What the tests of this folder share: folders to write in, the program, and TAP."""

import os
import subprocess
import sys
import tempfile

SPATE = os.path.realpath(sys.argv[1])
FOLDER = os.path.dirname(os.path.realpath(__file__))
SMALL = os.path.join(FOLDER, "small.yaml")
# What stores are made of is told there.
sys.path.insert(0, os.path.join(FOLDER, "..", "cli"))
OLD = b"what was here before\n"

count = 0
failures = 0


def check(name, wrongs):
    """One line of TAP: what went wrong, told by a list of texts."""
    global count, failures
    count += 1
    failures += bool(wrongs)
    print(f"{'not ok' if wrongs else 'ok'} {count} - {name}", flush=True)
    for wrong in wrongs[:10]:
        print("# " + wrong.replace("\n", "\n# "))


def skip(name, why):
    global count
    count += 1
    print(f"ok {count} - {name} # SKIP {why}", flush=True)


def end():
    print(f"1..{count}")
    sys.exit(1 if failures else 0)


def work_folder():
    """A folder to write in, as the current one; in memory, where each fsync() is quick."""
    memory = "/dev/shm"
    folder = tempfile.TemporaryDirectory(dir=memory if os.access(memory, os.W_OK) else None)
    os.chdir(folder.name)
    return folder


def spate(arguments, **settings):
    settings.setdefault("stdout", subprocess.PIPE)
    settings.setdefault("stdin", subprocess.DEVNULL)
    return subprocess.run([SPATE, *arguments], stderr=subprocess.PIPE, check=False, **settings)


def failing(shim, call, nth, how, goes_on=False):
    """The environment in which the nth call of a kind fails, and makes "mark" to say so."""
    settings = dict(os.environ, LD_PRELOAD=shim, FAILING_CALL=call, FAILING_NTH=str(nth),
                    FAILING_HOW=str(how), FAILING_MARK=os.path.abspath("mark"))
    # The address sanitizer wants to be the first library; it need not be.  Looking for what leaks
    # takes as long as all else in a short run: only where the first call of a kind fails.
    settings["ASAN_OPTIONS"] = (settings.get("ASAN_OPTIONS", "") + ":verify_asan_link_order=0"
                                + f":detect_leaks={int(nth == 1)}")
    if goes_on:
        settings["FAILING_ON"] = "1"
    return settings


def content(path):
    if not os.path.exists(path):
        return None
    with open(path, "rb") as file:
        return file.read()


def write(path, text):
    with open(path, "wb") as file:
        file.write(text)


def is_sanitized(done):
    return b"Sanitizer" in done.stderr or b"runtime error" in done.stderr
