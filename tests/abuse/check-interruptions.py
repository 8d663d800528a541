#!/usr/bin/env python3
"""check-interruptions.py SPATE [MOMENTS] - signals at random moments, in TAP

From its first instant to its last byte a run ends, when it is told to, with status 130 (or 0 when it
was done before): a file is whole, or as it was before; nothing else stays behind.  Moments are
drawn from a fixed seed, and spread over the time that the same run takes undisturbed.  So do size and
advise; sweep and merge lose nothing when whoever reads what they write goes away.
"""

import fcntl
import json
import os
import random
import signal
import subprocess
import sys
import time

import abuse
from tap import patience

MOMENTS = int(sys.argv[2]) if len(sys.argv) > 2 else 100
SIGNALS = [signal.SIGINT, signal.SIGTERM, signal.SIGHUP]
RUN = ["run", abuse.SMALL, "--format", "json", "--output", "out", "--replications", "40"]
SIZE = ["size", abuse.SMALL, "--vary", "nodes.sensor.count", "--from", "1", "--to", "4", "--format",
        "json", "--output", "out", "--replications", "60"]
# All of `advise` is searched: what is in the way is held back, judged, and given a price.
ADVISE = ["advise", abuse.SMALL, "--format", "json", "--output", "out", "--replications", "40"]
LOGGED = RUN[:-1] + ["2", "--events", "e.jsonl", "--capture", "c.pcapng"]


def start(command, **settings):
    """Signals are not ignored, whatever started the test."""
    def hear():
        for number in SIGNALS:
            signal.signal(number, signal.SIG_DFL)
    return subprocess.Popen([abuse.SPATE, *command], stderr=subprocess.PIPE, preexec_fn=hear,
                            stdin=subprocess.DEVNULL, **settings)


def prepare(outputs):
    for path in os.listdir():
        os.remove(path)
    for path in outputs:
        abuse.write(path, abuse.OLD)


def is_whole(path, whole):
    """A result of fewer replications says so; logs are those of all."""
    got = abuse.content(path)
    if path != "out" or got == whole:
        return got == whole
    try:
        result = json.loads(got)
    except ValueError:
        return False
    if "variants" not in result:
        return result.get("interrupted", False) and result.get("replications", 1) > 0
    values = result["variants"][0]["measures"][0]["values"]
    return result["interrupted"] and len(values) == result["replications"] > 0


def wrongs_of(status, err, outputs, whole):
    wrongs = []
    # So ends what is not the program yet: it is still being loaded.
    is_loaded = status >= 0 or err or any(abuse.content(path) != abuse.OLD for path in outputs)
    if is_loaded and status not in (0, 130) or b"Sanitizer" in err:
        wrongs.append(f"status {status}: {err[:300]}")
    if status == 130 and b"spate: interrupted" not in err:
        wrongs.append(f"not said: {err[:300]}")
    for path in outputs:
        is_old = abuse.content(path) == abuse.OLD
        if status == 0 and abuse.content(path) != whole[path]:
            wrongs.append(f"{path}: not whole with status 0")
        elif not is_old and not is_whole(path, whole[path]):
            wrongs.append(f"{path}: neither as before nor whole")
        elif is_old and b"finished and kept" in err and path == "out":
            wrongs.append(f"{path}: said to be kept")
    extra = set(os.listdir()) - set(outputs)
    if extra:
        wrongs.append(f"left behind: {extra}")
    return wrongs


def undisturbed(command, outputs):
    prepare(outputs)
    began = time.monotonic()
    done = abuse.spate(command)
    spent_s = time.monotonic() - began
    assert done.returncode == 0, done.stderr
    return spent_s, {path: abuse.content(path) for path in outputs}


def interrupt(process, draw, longest_s, n_signals):
    for _ in range(n_signals):
        try:
            process.wait(draw.uniform(0, longest_s))
            break
        except subprocess.TimeoutExpired:
            process.send_signal(draw.choice(SIGNALS))
    _, err = process.communicate(timeout=patience(60))
    return process.returncode, err


def check_moments(name, command, outputs, n_moments, n_signals):
    draw = random.Random(f"{name} 7")
    longest_s, whole = undisturbed(command, outputs)
    wrongs, n_ended = [], 0
    for _ in range(n_moments):
        prepare(outputs)
        status, err = interrupt(start(command), draw, longest_s, n_signals)
        n_ended += status == 130
        wrongs += wrongs_of(status, err, outputs, whole)
    if n_ended < n_moments // 10:
        wrongs.append(f"only {n_ended} of {n_moments} were interrupted")
    abuse.check(f"{name}: {n_moments} moments", wrongs)


def check_first_instant():
    """Also what has no results to keep ends as it should, and says so."""
    fifo = "fifo"
    wrongs = []
    for number in SIGNALS:
        for command in (["links", fifo], ["lint", fifo], ["run", fifo], ["check", fifo]):
            prepare([])
            os.mkfifo(fifo)
            process = start(command)
            # Once it is opened the program reads, and waits.
            with open(fifo, "wb"):
                process.send_signal(number)
                _, err = process.communicate(timeout=patience(60))
            if process.returncode != 130 or b"interrupted before anything was finished" not in err:
                wrongs.append(f"{command}, {number}: {process.returncode}, {err}")
    abuse.check("while a scenario is read", wrongs)


def check_full_pipe():
    """Nobody reads what is written: one signal waits, for something is finished; two do not."""
    prepare([])
    os.mkfifo("fifo")
    command = RUN[:5] + ["fifo", "--replications", "300"]
    process = start(command)
    with open("fifo", "rb", buffering=0) as reader:
        reader.read(1)
        process.send_signal(signal.SIGINT)
        time.sleep(0.05)
        waits = process.poll() is None
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=patience(60))
    wrongs = [] if waits else [f"the first signal ended it: {process.returncode}, {err}"]
    if process.returncode != 130 or b"interrupted again" not in err:
        wrongs.append(f"status {process.returncode}: {err}")
    abuse.check("while nobody reads", wrongs)


def read_little(command, n_bytes):
    """Of what goes to a pipe that holds a page; then nobody reads any more."""
    reader, writer = os.pipe()
    fcntl.fcntl(writer, fcntl.F_SETPIPE_SZ, 4096)
    if n_bytes == 0:
        os.close(reader)
    process = start(command, stdout=writer)
    os.close(writer)
    if n_bytes > 0:
        os.read(reader, n_bytes)
        os.close(reader)
    _, err = process.communicate(timeout=patience(60))
    return process.returncode, err


def check_readers():
    """What goes to a store does not need the reader."""
    prepare([])
    sweep = ["sweep", abuse.SMALL, "--vary", "nodes.sensor.count=1,2", "--replications", "2", "--set",
             "run.duration=150 s", "--quiet"]
    text = ["--format", "json"]
    assert abuse.spate([*sweep, "--store", "whole.sqlite"]).returncode == 0
    merge = ["merge", "whole.sqlite", "--quiet", *text]
    whole, store = abuse.spate(merge).stdout, abuse.content("whole.sqlite")
    wrongs = [] if len(whole) > 3 * 4096 else [f"only {len(whole)} bytes"]
    for n_bytes in (0, 1):
        for command in ([*sweep, *text, "--store", "out.sqlite"], merge):
            status, err = read_little(command, n_bytes)
            if status != 3 or b"cannot write standard output: Broken pipe" not in err:
                wrongs.append(f"{command[0]}, {n_bytes} bytes read: status {status}: {err[:300]}")
            if set(os.listdir()) != {"whole.sqlite", "out.sqlite"}:
                wrongs.append(f"{command[0]}, {n_bytes} bytes read: {os.listdir()}")
        if abuse.spate(["merge", "out.sqlite", "--quiet", *text]).stdout != whole:
            wrongs.append(f"{n_bytes} bytes read: the store of the sweep is not whole")
        if abuse.content("whole.sqlite") != store:
            wrongs.append(f"{n_bytes} bytes read: merge changed its input")
        os.remove("out.sqlite")
    abuse.check("while the reader of a sweep or a merge goes away", wrongs)


def check_nohup():
    """Whoever ignores the end of a terminal, as nohup does, is not ended by it."""
    prepare([])
    process = subprocess.Popen([abuse.SPATE, *RUN[:-1], "5"], stderr=subprocess.PIPE,
                               preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_IGN))
    process.send_signal(signal.SIGHUP)
    _, err = process.communicate(timeout=patience(60))
    abuse.check("the end of a terminal under nohup",
                [] if process.returncode == 0 else [f"{process.returncode}: {err}"])


def main():
    with abuse.work_folder():
        check_moments("one signal, a result", RUN, ["out"], MOMENTS * 2 // 10, 1)
        check_moments("two signals, a result", RUN, ["out"], MOMENTS // 10, 2)
        check_moments("one signal, a size", SIZE, ["out"], MOMENTS // 10, 1)
        check_moments("one signal, advice", ADVISE, ["out"], MOMENTS // 10, 1)
        relays = [*ADVISE, "--relays"]
        check_moments("one signal, advice on relays", relays, ["out"], MOMENTS // 10, 1)
        logs = ["out", "e.jsonl", "c.pcapng"]
        check_moments("one signal, logs", LOGGED, logs, MOMENTS // 10, 1)
        check_moments("two signals, logs", LOGGED, logs, MOMENTS // 10, 2)
        check_first_instant()
        check_full_pipe()
        check_readers()
        check_nohup()
    abuse.end()


main()
