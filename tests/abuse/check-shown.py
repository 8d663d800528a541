#!/usr/bin/env python3
"""check-shown.py SPATE - nothing that is read commands the terminal it is shown on, in TAP

Titles, summaries, settings, file names, results and stores hold commands of terminals (ECMA-48) and
characters that turn the direction of writing.  None of them comes out, on a pipe or a terminal,
except in formats for programs that go to a pipe or a file: those are exact.
"""

import csv
import io
import json
import os
import pty
import re
import sqlite3
import subprocess

import abuse
import storesum

SHORT = ["--set", "run.duration=3 min", "--replications", "2", "--quiet"]
# What must not be shown; and what our own tables on a terminal are drawn with.
UNSAFE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
OURS = re.compile("\x1b\\[(0|1|36)m|\r\n")
NASTY = "A\x1b[2Jfarm\x1b[1m\x9b31m\u202eegdir\u2069\x07\nspate: all is well\t\x00"
YAML = '"A\\e[2Jfarm\\e[1m\\x9b31m\\u202Eegdir\\u2069\\a\\nspate: all is well\\t"'
FILES = ["\x1b[31mred\u202e.yaml", "a\nspate: b.yaml", b"no\xffutf8.yaml"]


def scenario():
    with open(abuse.SMALL, encoding="utf-8") as file:
        text = file.read()
    text = re.sub("^title:.*", lambda _: f"title: {YAML}", text, flags=re.MULTILINE)
    text = text.replace("  closed:\n", f"  closed:\n    summary: {YAML}\n")
    return (text + "sweep: [{vary: nodes.sensor.count, values: [1, 2]}]\n"
            "size: {vary: nodes.sensor.count, from: 1, to: 3}\n")


def on_terminal(command):
    """All that comes out, with standard output and error on one terminal."""
    leader, follower = pty.openpty()
    process = subprocess.Popen([abuse.SPATE, *command], stdin=subprocess.DEVNULL, stdout=follower,
                               stderr=follower, env=dict(os.environ, COLUMNS="200"))
    os.close(follower)
    shown = b""
    try:
        while block := os.read(leader, 65536):
            shown += block
    except OSError:
        pass
    process.wait()
    os.close(leader)
    return shown


def wrongs_of(shown, where, is_marked):
    text = shown.decode(errors="surrogateescape")
    # A coloured heading ends each line: nothing between may be a command.
    found = UNSAFE.search(OURS.sub("", text) if where == "terminal" else text)
    wrongs = [f"{where}: {found.group()!r} in {text[:400]!r}"] if found else []
    if re.search("^spate: all is well|^spate: b.yaml", text, flags=re.MULTILINE):
        wrongs.append(f"{where}: a forged message: {text[:400]!r}")
    if is_marked and "\ufffd" not in text:
        wrongs.append(f"{where}: nothing of it is shown: {text[:400]!r}")
    try:
        shown.decode()
    except UnicodeDecodeError:
        wrongs.append(f"{where}: not UTF-8: {shown[:400]}")
    return wrongs


def check_shown(name, command, everywhere=True, is_marked=True):
    wrongs = []
    if everywhere:
        done = abuse.spate(command)
        wrongs = wrongs_of(done.stdout + done.stderr, "pipe", is_marked)
    wrongs += wrongs_of(on_terminal(command), "terminal", is_marked)
    abuse.check(name, wrongs)


def check_titles():
    for command in (["run"], ["run", "--variant", "closed"], ["compare"], ["size"], ["advise"],
                    ["advise", "--relays"], ["advise", "--disturbers"], ["advise", "--sites"]):
        check_shown(f"{' '.join(command)}: a title", [command[0], "mine.yaml", *SHORT,
                                                      *command[1:]])
    # A title that is only bold would pass for our own writing.
    done = on_terminal(["run", "mine.yaml", *SHORT])
    abuse.check("a title is not bold by itself", [] if b"farm\x1b[1m" not in done else [str(done)])
    check_shown("lint: a name", ["lint", "mine.yaml", "--set", f"nodes.{NASTY[:-1]}.count=3"])
    check_shown("lint: a value", ["lint", "mine.yaml", "--set", f"run.duration={YAML}"])
    for option in ("--seed", "--jobs", "--format", "--variant", "--set", "--plot", "--blur"):
        check_shown(f"{option}: what is wrong", ["run", "mine.yaml", "--report", "page.html", option,
                                                 NASTY[:-1]])
    check_shown("an unknown option", ["run", "mine.yaml", f"--{NASTY[:-1]}"])
    check_shown("an unknown command", [NASTY[:-1]])


def check_names():
    for name in FILES:
        path = os.fsencode(name)
        with open(path, "w", encoding="utf-8") as file:
            file.write(scenario())
        # A line feed is shown as one where it cannot pass for the end of a message.
        is_marked = b"\n" not in path
        for command in (["compare", "mine.yaml", path, *SHORT], ["check", path, *SHORT],
                        ["lint", b"nowhere/" + path], ["report", path],
                        ["airtime", "--output", b"nowhere/" + path],
                        ["run", path, "--output", path], ["sweep", "mine.yaml", "--store", path],
                        ["merge", path, "--format", "table"]):
            check_shown(f"{command[0]}: {name!r}", command, is_marked=is_marked)
        with open(path, "a", encoding="utf-8") as file:
            file.write("oops: 1\n")
        check_shown(f"lint: a fault in {name!r}", ["lint", path])
        os.remove(path)


def check_results():
    result = json.loads(abuse.spate(["run", "mine.yaml", *SHORT, "--format", "json"]).stdout)
    abuse.check("JSON on a pipe is exact", [] if result["scenario"]["title"] == NASTY[:-1]
                else [result["scenario"]["title"]])
    check_shown("JSON on a terminal", ["run", "mine.yaml", *SHORT, "--format", "json"], False)
    result["format"] = NASTY
    with open("bad.json", "w", encoding="utf-8") as file:
        json.dump(result, file)
    check_shown("report: a member of a result", ["report", "bad.json"])
    check_shown("check: a member of a result", ["check", "mine.yaml", *SHORT, "--against", "bad.json"])


def check_walks():
    text = NASTY.rstrip("\0")
    with open("walk.csv", "w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["distance", "bearer", "received-power"])
        rows.writerows([[d, text, level] for d, level in ((50, -60), (90, -70), (200, -75))])
    check_shown("fit: a bearer of a table", ["fit", "walk.csv", "--power", "14 dBm"])
    check_shown("fit: a bearer that is not there", ["fit", "walk.csv", "--scenario", "mine.yaml"])
    check_shown("fit: JSON on a terminal", ["fit", "walk.csv", "--power", "14 dBm", "--format",
                                            "json"], False)
    os.rename("walk.csv", FILES[1])
    check_shown("fit: the name of a table", ["fit", FILES[1], "--power", "14 dBm"])


def check_stores():
    store = ["sweep", "mine.yaml", *SHORT, "--vary", f"title={YAML},b"]
    check_shown("sweep: a value, as a table", [*store, "--format", "table"],
                is_marked=False)
    done = abuse.spate([*store, "--format", "csv"])
    values = {row["title"] for row in csv.DictReader(io.StringIO(done.stdout.decode(), newline=""))}
    # As in a scenario: whoever reads it back has the same text.
    abuse.check("a value in CSV is YAML",
                [] if any(r"A\x1b[2Jfarm" in value and r"\x9b31m\u202eegdir" in value
                          for value in values) else [f"{values} {done.stderr}"])
    check_shown("CSV on a terminal", [*store, "--format", "csv"], False, False)
    check_shown("merge: a table", ["merge", "mine.sqlite", "--format", "table"],
                is_marked=False)
    os.rename("mine.sqlite", "other.sqlite")
    abuse.spate(["sweep", "mine.yaml", *SHORT])
    check_shown("merge: stores that do not fit", ["merge", "mine.sqlite", "other.sqlite",
                                                  "--output", "joined.sqlite"], is_marked=False)
    with sqlite3.connect("mine.sqlite") as base:
        base.execute("UPDATE about SET value = ? WHERE key = 'version'", (NASTY[:-1],))
    base.close()
    storesum.reseal("mine.sqlite")
    check_shown("sweep: a store of another version", ["sweep", "mine.yaml", *SHORT])


def cells_of(command):
    done = abuse.spate([*command, "--format", "csv", "--csv-text-cells"])
    return [cell for row in csv.reader(io.StringIO(done.stdout.decode(), newline="")) for cell in row]


def check_formulas():
    """Every CSV that holds text of the user's; figures stay figures."""
    with open("=1+1.yaml", "w", encoding="utf-8") as file:
        file.write(scenario())
    sweep = ["sweep", "mine.yaml", *SHORT, "--store", "cells.sqlite", "--vary",
             "title==1+1,-5,-5 dBm"]
    for command in (["compare", "mine.yaml", "=1+1.yaml", *SHORT], sweep,
                    ["merge", "cells.sqlite"]):
        cells = cells_of(command)
        formulas = [cell for cell in cells if re.match("[-=+@]", cell)
                    and not re.fullmatch("[-+]?[0-9.]+(e[-+]?[0-9]+)?", cell)]
        abuse.check(f"{command[0]}: no cell is a formula",
                    [] if "'=1+1" in cells and not formulas else [f"{formulas} of {cells[:50]}"])
    abuse.check("a negative number is one", [] if "-5" in cells and "'-5 dBm" in cells
                else [str(cells[:50])])
    exact = abuse.spate(["merge", "cells.sqlite", "--format", "csv"]).stdout.decode()
    abuse.check("unless asked for, text is exact", [] if ",=1+1," in exact else [exact[:300]])
    for command in (["run", "mine.yaml"], sweep, ["merge", "cells.sqlite", "--format", "json"]):
        done = abuse.spate([*command, "--csv-text-cells"])
        abuse.check(f"{command[0]}: only of CSV", [] if done.returncode == 2 and
                    b"needs --format csv" in done.stderr else [str(done)])


def main():
    with abuse.work_folder():
        with open("mine.yaml", "w", encoding="utf-8") as file:
            file.write(scenario())
        try:
            os.close(pty.openpty()[0])
        except OSError:
            abuse.skip("what is shown", "no pseudo-terminal to be had")
            abuse.end()
        check_titles()
        check_names()
        check_results()
        check_walks()
        check_stores()
        check_formulas()
    abuse.end()


main()
