#!/usr/bin/env python3
"""check-logs.py SPATE FOLDER - run --events and --capture against the measures, in TAP

Capture files are read with tshark, a reader of packets that is not ours; its checks are skipped
where it is not installed.
"""

import collections
import json
import os
import shutil
import subprocess
import sys
import tempfile

from tap import check, end

SPATE, FOLDER = os.path.realpath(sys.argv[1]), os.path.realpath(sys.argv[2])
# Whole runs are counted, so that logs (which tell all) and measures (after the warm-up) agree.
TINY = [os.path.join(FOLDER, "tiny.yaml"), "--set", "run.warm-up=0 s"]


def spate(*arguments):
    return subprocess.run([SPATE, *arguments], capture_output=True, text=True, check=False)


def run_logged(work, *more):
    """The measures of a run of one replication, and its events."""
    events, result = os.path.join(work, "e.jsonl"), os.path.join(work, "r.json")
    done = spate("run", *TINY, "--replications", "1", "--format", "json", "--output", result,
                 "--events", events, *more)
    assert done.returncode == 0, done.stderr
    with open(events, encoding="utf-8") as lines, open(result, encoding="utf-8") as measures:
        return json.load(measures), [json.loads(line) for line in lines]


def measure(result, name, **dimensions):
    for row in result["variants"][0]["measures"]:
        others = {"traffic", "bearer", "node", "bridge"} & row.keys()
        if row["measure"] == name and {key: row[key] for key in others} == dimensions:
            return row["mean"]
    raise KeyError(name)


def kinds(events):
    return collections.Counter(event["event"] for event in events)


def check_events(work):
    result, events = run_logged(work)
    n = kinds(events)
    times = [event["at_s"] for event in events]
    outcomes = collections.Counter(e["outcome"] for e in events if e["event"] == "outcome")
    audible = sum(outcomes.values())
    check("events come in the order of time", times == sorted(times))
    check("every frame that starts is a transmission",
          n["started"] == measure(result, "transmissions", bearer="valley"))
    check("every message that is offered is told",
          n["offered"] == sum(measure(result, "messages", traffic=t) for t in ("talk", "news")))
    check("outcomes are those of the audible pairs",
          audible == measure(result, "audible", bearer="valley"), f"{outcomes}")
    check("the share received agrees",
          abs(outcomes["received"] / audible - measure(result, "received", bearer="valley")) < 1e-9)
    check("a received frame is either new to the node or redundant",
          outcomes["received"] == n["arrived"] + n["redundant"])
    check("deliveries agree with their share",
          abs(sum(e["event"] == "delivered" and e["traffic"] == "talk" for e in events) /
              measure(result, "messages", traffic="talk") -
              measure(result, "delivery", traffic="talk")) < 1e-9)
    check("each first copy is decided about", n["decided"] == n["arrived"])
    check("who broke a reception is named",
          all("disturber" in e for e in events
              if e["event"] == "outcome" and e["outcome"] == "lost-collision"))
    return events


def check_limits(work, events):
    _, talk = run_logged(work, "--events-of", "talk")
    check("events of one traffic are those among all",
          talk == [event for event in events if event["traffic"] == "talk"])
    both = os.path.join(work, "both.jsonl")
    spate("run", *TINY, "--replications", "2", "--variant", "base", "--variant", "still",
          "--output", os.path.join(work, "r2.txt"), "--events", both)
    with open(both, encoding="utf-8") as lines:
        runs = [(e["variant"], e["replication"]) for e in map(json.loads, lines)]
    check("all variants and replications are told, one after the other",
          list(dict.fromkeys(runs)) == [("base", 1), ("base", 2), ("still", 1), ("still", 2)])


def check_nothing_changes(work):
    plain = spate("run", *TINY, "--format", "json").stdout
    logged = spate("run", *TINY, "--format", "json", "--events", os.path.join(work, "x.jsonl"),
                   "--capture", os.path.join(work, "x.pcapng")).stdout
    check("logs change no result", plain == logged and plain != "")


def check_refusals(work):
    def refuses(name, status, *arguments):
        done = spate("run", *TINY, *arguments)
        check(name, done.returncode == status and done.stderr.startswith("spate: "),
              f"{done.returncode}: {done.stderr}")

    there = os.path.join(work, "no-such-folder", "e.jsonl")
    refuses("a traffic that is not there", 2, "--events", os.path.join(work, "n.jsonl"),
            "--events-of", "tolk")
    refuses("a node that is not there", 2, "--capture", os.path.join(work, "n.pcapng"),
            "--capture-at", "nowhere")
    refuses("events-of without a log", 2, "--events-of", "talk")
    refuses("capture-at without a capture", 2, "--capture-at", "west")
    refuses("two outputs in one file", 2, "--events", "a", "--capture", "a")
    refuses("two outputs on standard output", 2, "--events", "-")
    refuses("a folder that is not there", 3, "--events", there)
    refuses("a full disk", 3, "--events", "/dev/full")
    check("nothing is written when it is refused",
          not os.path.exists(os.path.join(work, "n.jsonl")) and not os.path.exists("a"))
    left = [name for name in os.listdir(work) if name.startswith(("n.", "e.jsonl."))]
    check("nothing is left behind", left == [], f"{left}")


def fields(path, *names):
    arguments = [item for name in names for item in ("-e", name)]
    done = subprocess.run(["tshark", "-r", path, "-T", "fields", *arguments],
                          capture_output=True, text=True, check=True)
    return [line.split("\t") for line in done.stdout.splitlines()]


def check_capture(work):
    if shutil.which("tshark") is None:
        check("captures # SKIP tshark is not installed", True)
        return
    air, east = os.path.join(work, "air.pcapng"), os.path.join(work, "east.pcapng")
    _, events = run_logged(work, "--capture", air)
    run_logged(work, "--capture", east, "--capture-at", "east")
    started = [event for event in events if event["event"] == "started"]
    rows = fields(air, "frame.time_epoch", "frame.len", "loratap.channel.frequency",
                  "loratap.channel.sf", "frame.interface_name", "_ws.malformed")
    check("the air has each frame once", len(rows) == len(started), f"{len(rows)}")
    check("at its start, in nanoseconds",
          [f"{float(row[0]):.9f}" for row in rows] == [f"{e['at_s']:.9f}" for e in started])
    check("with its length behind a LoRaTap header of 15 bytes",
          [int(row[1]) for row in rows] == [e["bytes"] + 15 for e in started])
    check("on its frequency, with its spreading factor",
          {tuple(row[2:5]) for row in rows} == {("869500000", "7", "valley")},
          f"{rows[:1]}")
    check("and nothing is malformed", all(len(row) < 6 or row[5] == "" for row in rows))
    received = [e for e in events if e["event"] == "outcome" and e["outcome"] == "received" and
                e["node"] == "east"]
    heard = fields(east, "frame.interface_name", "loratap.rssi.packet", "loratap.rssi.snr")
    check("a receiver has the frames that it received", len(heard) == len(received))
    check("on an interface of its own", {row[0] for row in heard} == {"east valley"})
    check_dsss(work)


def check_dsss(work):
    path = os.path.join(work, "dsss.pcapng")
    text = """
spate: 1
run: {duration: 2 min}
bearers: {yard: {kind: dsss, frequency: 2437 MHz, rate: 1 Mbit/s}}
nodes:
  a: {at: {x: 0 m, y: 0 m}, radios: {yard: {power: 14 dBm}}}
  b: {at: {x: 50 m, y: 0 m}, radios: {yard: {power: 14 dBm}}}
traffic: {talk: {from: a, to: b, payload: 30 bytes, every: 10 s}}
"""
    done = subprocess.run([SPATE, "run", "-", "--capture", path, "--capture-at", "b"], input=text,
                          capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    rows = fields(path, "radiotap.channel.freq", "radiotap.datarate", "radiotap.dbm_antsignal",
                  "wlan.fc.type_subtype", "wlan.sa", "wlan.fcs.status", "frame.len")
    # 14 dBm less the free-space loss of 50 m at 2437 MHz: 20 log10(50 m) + 20 log10(2437 MHz)
    # - 27.55 = 74.2 dB (Rec. ITU-R P.525).
    check("2.4 GHz frames are action frames with channel, rate and level",
          {tuple(row[:5]) for row in rows} == {("2437", "1", "-60", "0x000d",
                                                "02:00:00:00:00:00")}, f"{rows[:1]}")
    check("of their length behind a radiotap header of 15 bytes",
          {row[6] for row in rows} == {str(15 + 43 + 30)}, f"{rows[:1]}")
    done = subprocess.run(["tshark", "-o", "wlan.check_checksum:TRUE", "-r", path, "-T", "fields",
                           "-e", "wlan.fcs.status"], capture_output=True, text=True, check=True)
    check("their frame check sequence is right", set(done.stdout.split()) == {"1"},
          f"{set(done.stdout.split())}")


def main():
    with tempfile.TemporaryDirectory() as work:
        os.chdir(work)
        events = check_events(work)
        check_limits(work, events)
        check_nothing_changes(work)
        check_refusals(work)
        check_capture(work)
    end()


main()
