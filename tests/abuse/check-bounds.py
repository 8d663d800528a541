#!/usr/bin/env python3
"""check-bounds.py SPATE - what asks for too much is refused while memory is scarce, in TAP

The program has 700 MB of addresses: what began to make room for what is asked for would be ended by
its allocator, not with status 2 and a figure.
"""

import resource
import subprocess

import abuse
from tap import patience

ADDRESSES = 700 << 20
LONGEST_S = patience(60)


def limit():
    resource.setrlimit(resource.RLIMIT_AS, (ADDRESSES, ADDRESSES))


def limited(arguments, text=None):
    return subprocess.run([abuse.SPATE, *arguments], input=text, capture_output=True, check=False,
                          preexec_fn=limit, timeout=LONGEST_S)


def settings(*paths):
    return [word for path in paths for word in ("--set", path)]


def everywhere(count):
    return ("nodes.sensor={count: %d, place: {circle: {centre: {x: 0 m, y: 0 m}, radius: 9 km}}, "
            "radios: {yard: {power: 18 dBm}}, relay: [yard]}" % count)


# What is asked for, how, and the figure that is told.
ASKED = [
    ("10^9 nodes", ["run", *settings("nodes.sensor.count=1000000000")], "1000000000"),
    ("10^9 nodes on a grid", ["run", *settings(
        "nodes.sensor={count: 1000000000, place: {grid: {from: {x: 0 m, y: 0 m}, "
        "to: {x: 9 km, y: 9 km}, columns: 30000}}, radios: {yard: {power: 18 dBm}}}")],
     "1000000000"),
    ("10^12 messages", ["run", *settings("run.duration=2000 day",
                                         "traffic.talk={from: ridge, to: farm, payload: 9 bytes, "
                                         "every: 172 us}")], "1e+12 messages"),
    ("10^9 messages to everyone", ["run", *settings(
        everywhere(1000), "traffic.talk.mean-interval=1 ms", "run.duration=8 h")],
     "pairs of a message and a recipient"),
    ("10^12 transmissions", ["run", *settings(
        everywhere(90000), "run.duration=1000 day",
        "traffic.readings={from: ridge, to: farm, payload: 9 bytes, every: 7 s}")],
     "1.5e+12 transmissions"),
    ("10^12 bursts", ["run", *settings(
        "ambient=[{bearer: yard, everywhere: yes, power: -90 dBm, busy: 10 %, burst: 10 us}]",
        "run.duration=1200 day")], "1.04e+12 bursts"),
    ("10^7 replications", ["run", *settings("run.replications=10000000")], "1 to 1000000"),
    ("10^6 replications of many measures", ["compare", "--replications", "1000000", *settings(
        *(f"traffic.more{i}={{from: ridge, to: farm, payload: 9 bytes, every: 60 s}}"
          for i in range(5)))], " values of"),
    ("10^10 links", ["links", *settings(everywhere(90000), "traffic={}", "expect=[]")], "8100090002 pairs of radios"),
    ("10^9 links held", ["run", *settings(everywhere(20000))], "at most 200 million are held"),
]


def check_asked(name, arguments, figure):
    command, *rest = arguments
    done = limited([command, abuse.SMALL, *rest])
    wrongs = []
    if done.returncode != 2:
        wrongs.append(f"status {done.returncode}")
    if figure not in done.stderr.decode():
        wrongs.append(f"not told: {figure}")
    if done.stdout:
        wrongs.append("something was written")
    abuse.check(name, [" ".join(wrongs) + f": {done.stderr[:400]}"] if wrongs else [])


def check_text(name, text, figure):
    done = limited(["run", "-"], text.encode())
    good = done.returncode == 2 and figure in done.stderr.decode()
    abuse.check(name, [] if good else [f"{done.returncode}: {done.stderr[:400]}"])


def check_texts():
    with open(abuse.SMALL, encoding="utf-8") as file:
        small = file.read()
    closed = "{set: {bridges.farm.up.otherwise: hold-back}}"
    variants = "".join(f"  v{i}: {closed}\n" for i in range(5000))
    check_text("5000 variants", small.replace("variants:\n", "variants:\n" + variants),
               "5001 variants")
    sweep = "sweep: [{vary: seed, from: 0, to: 1000000000, step: 1}]\n"
    check_text("10^9 values of a sweep", small + sweep, "at most 10000")
    links = "links:\n" + "  - {between: [ridge, farm], bearer: valley, loss: 90 dB}\n" * 400000
    check_text("400,000 links, one by one", small + links, "at most 2000000 values")
    times = "  old: {from: sensor, to: ridge, payload: 9 bytes, at: [" + "1 s, " * 2000000 + "2 s]}\n"
    check_text("a list of 2 million times", small.replace("traffic:\n", "traffic:\n" + times),
               "at most 2000000 values")
    bombs = "".join(f"  - &a{i} [{', '.join([f'*a{i - 1}'] * 9) if i else '1'}]\n"
                    for i in range(12))
    check_text("aliases of aliases", "bombs:\n" + bombs + small, "by aliases")
    check_text("64 MiB of text", small + "# " + "x" * (64 << 20) + "\n", "64 MiB")


def main():
    if limited(["--version"]).returncode != 0:
        abuse.skip("bounds", "this build does not run in few addresses (a sanitizer)")
        abuse.end()
    enough = limited(["run", abuse.SMALL])
    abuse.check("a small scenario fits", [] if enough.returncode == 0 else [str(enough.stderr)])
    for name, arguments, figure in ASKED:
        check_asked(name, arguments, figure)
    check_texts()
    abuse.end()


main()
