#!/usr/bin/env python3
"""check-terminal.py SPATE FOLDER - what run and compare draw on a terminal, in TAP

The terminal is a pseudo-terminal of a stated width.  Where pictures stand is worked out again from
the numbers beside them.
"""

import fcntl
import json
import math
import os
import pty
import re
import struct
import subprocess
import sys
import tempfile
import termios

from tap import check, end, equal, skip

SPATE, FOLDER = os.path.realpath(sys.argv[1]), os.path.realpath(sys.argv[2])
TINY, VALLEY = (os.path.join(FOLDER, name) for name in ("tiny.yaml", "valley.yaml"))
UTF8 = {"LC_ALL": "C.UTF-8", "NO_COLOR": "1"}


def environment(more):
    kept = {key: value for key, value in os.environ.items()
            if key not in ("COLUMNS", "NO_COLOR", "LC_ALL", "LC_CTYPE", "LANG")}
    return {**kept, **more}


def plain(*arguments, more=None):
    done = subprocess.run([SPATE, *arguments], capture_output=True, check=False,
                          env=environment(more or UTF8))
    assert done.returncode == 0, done.stderr
    return done.stdout.decode()


def shown(columns, *arguments, more=None):
    """What a terminal of that width gets; 0: it does not tell its width."""
    leader, follower = pty.openpty()
    fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 24 if columns else 0, columns,
                                                          0, 0))
    with subprocess.Popen([SPATE, *arguments, "--quiet"], stdout=follower, stdin=subprocess.DEVNULL,
                          env=environment(UTF8 if more is None else more)) as run:
        os.close(follower)
        parts = []
        try:
            while part := os.read(leader, 65536):
                parts.append(part)
        except OSError:  # the other end is closed
            pass
        os.close(leader)
    assert run.returncode == 0
    return b"".join(parts).decode().replace("\r\n", "\n")


def measures(variant=0, *arguments):
    return json.loads(plain("compare", TINY, "--format", "json", *arguments))["variants"][variant]


def widest(text):
    return max(map(len, text.splitlines()))


def without_pictures(text):
    """The table of a run: its figures end with a bracket, what follows is drawn."""
    lines = [line for line in text.split("\nlatency ")[0].splitlines()
             if not line.startswith("bars: ")]
    return "\n".join(re.sub(r"(\]) +[│├┤┼─╴╶●]+$", r"\1", line) for line in lines)


def check_plain():
    wide = {**UTF8, "COLUMNS": "200"}
    text = plain("run", TINY, more=wide)
    check("what is no terminal gets neither pictures nor colours",
          text.isascii() and "\x1b" not in text and "latency  " not in text, text)
    terminal = shown(100, "run", TINY)
    equal("the figures are the same on a terminal", without_pictures(terminal), text.rstrip("\n"))
    with tempfile.TemporaryDirectory() as work:
        path = os.path.join(work, "out")
        shown(100, "run", TINY, "--output", path)
        with open(path, encoding="utf-8") as file:
            equal("a file is plain even if standard output is a terminal", file.read(), text)
    equal("JSON is the same on a terminal", shown(100, "run", TINY, "--format", "json"),
          plain("run", TINY, "--format", "json"))


def check_widths():
    for columns in (80, 100, 140):
        text = shown(columns, "run", TINY)
        check(f"{columns} columns hold the pictures of run", widest(text) <= columns and "●" in text,
              text)
    text = shown(60, "run", TINY)
    check("where there is no room there are no bars", "●" not in text and "bars:" not in text, text)
    check("but latencies, in 60 columns", "\nlatency" in text and widest(text) <= 60, text)
    equal("nor anything else in 25", shown(25, "run", TINY), plain("run", TINY))
    equal("COLUMNS says it before the terminal", shown(60, "run", TINY, more={**UTF8, "COLUMNS": "100"}),
          shown(100, "run", TINY))
    equal("COLUMNS that is no number is passed over",
          shown(100, "run", TINY, more={**UTF8, "COLUMNS": "wide"}), shown(100, "run", TINY))
    equal("80 columns where nothing says it", shown(0, "run", TINY), shown(80, "run", TINY))


def check_signs():
    text = shown(100, "run", TINY, more={"LC_ALL": "C", "NO_COLOR": "1"})
    check("ASCII where the locale knows no more", text.isascii() and re.search(r"-o-|o$", text, re.M),
          text)
    utf8 = shown(100, "run", TINY)
    equal("marks stand where they stand in UTF-8",
          [line.find("o", 60) for line in text.splitlines() if "]" in line],
          [line.find("●", 60) for line in utf8.splitlines() if "]" in line])
    coloured = shown(100, "run", TINY, more={"LC_ALL": "C.UTF-8"})
    check("colours unless NO_COLOR is set", "\x1b[36m" in coloured and "\x1b[1m" in coloured)
    verdicts = shown(100, "check", os.path.join(FOLDER, "verdicts.yaml"), "--variant", "free",
                     "--format", "table", more={"LC_ALL": "C.UTF-8"})
    check("verdicts in colour", "\x1b[32mpass\x1b[0m" in verdicts and "\x1b[1mverdict" in verdicts,
          verdicts)
    equal("... unless NO_COLOR is set", shown(100, "check", os.path.join(FOLDER, "verdicts.yaml"),
          "--variant", "free", "--format", "table"), re.sub(r"\x1b\[\d*m", "", verdicts))
    equal("colours alone are the difference", re.sub(r"\x1b\[\d*m", "", coloured), utf8)
    equal("NO_COLOR that is empty is not set",
          shown(100, "run", TINY, more={"LC_ALL": "C.UTF-8", "NO_COLOR": ""}), coloured)


def check_places():
    """Bars of shares: 32 characters from 0 to 100 %, a mark at the mean."""
    rows = {row["measure"]: row for row in measures()["measures"] if row.get("traffic") == "talk"}
    text = shown(140, "run", TINY).split("traffic talk")[1].split("\n\n")[0]
    start = max(map(len, plain("run", TINY).splitlines()[3:])) + 2
    wrong = []
    for measure in ("delivery", "delivery-in-time", "delivery-worst"):
        line = next(line for line in text.splitlines() if line.startswith(f"  {measure}, %"))
        row = rows[measure]
        wanted = math.floor(row["mean"] * 63 + 0.5) // 2
        if line[start:].find("●") != wanted:
            wrong.append(f"{line}: not at {wanted}")
        low, high = (math.floor(end * 63 + 0.5) // 2 for end in row["ci95"])
        drawn = [i for i, sign in enumerate(line[start:]) if sign != " "]
        if (drawn[0], drawn[-1]) != (low, high):
            wrong.append(f"{line}: from {drawn[0]} to {drawn[-1]}, not {low} to {high}")
    check("bars of shares lie between 0 and 100 %", not wrong, "\n".join(wrong))


def check_latencies():
    """A character is a twentieth of a decade in so wide a terminal; one replication has one
    largest latency, which lies in the last character."""
    only = measures(0, "--replications", "1")["measures"]
    lines = shown(140, "run", TINY, "--replications", "1").split("\nlatency")[1].splitlines()
    axis = "latency" + lines[0]
    first_s = float(re.search(r"\|([0-9.]+) s", axis).group(1))
    start = axis.index("|")
    wide = shown(140, "run", VALLEY, "--replications", "1").split("\nlatency")[1].splitlines()[0]
    ticks = [match.start() for match in re.finditer(r"\|", wide)]
    equal("decades are 20 characters apart", [b - a for a, b in zip(ticks, ticks[1:])], [20])
    for traffic in ("news", "talk"):
        line = next(line for line in lines if line.strip().startswith(traffic))
        drawn = [i for i, sign in enumerate(line[start:]) if sign != " "]
        values = {row["measure"]: row["mean"] for row in only if row.get("traffic") == traffic}
        places = {name: math.floor(20 * math.log10(values[f"latency-{name}"] / first_s) + 1e-9)
                  for name in ("p50", "max")}
        equal(f"{traffic}: the largest latency is in the last character", drawn[-1], places["max"])
        check(f"{traffic}: the median is among the others", drawn[0] <= places["p50"] <= drawn[-1]
              and line[start:][places["p50"]] != " ", line)
        check(f"{traffic}: the highest character is full", "█" in line, line)


def check_compare():
    text = shown(200, "compare", TINY)
    check("200 columns hold the pictures of compare", widest(text) <= 200, text)
    rows = [line for line in text.splitlines() if re.match(r"    (still|brisk) ", line)]
    base = [line for line in text.splitlines() if line.startswith("    base ")]
    check("measures stand above their variants", len(rows) == 2 * len(base) > 20, text)
    starred = [line for line in rows if "*" in line and "●" in line]
    check("an interval beside 0 does not cross the line", starred and
          not any("┼" in line for line in starred), "\n".join(starred))
    crossing = [line for line in rows if "┼" in line]
    check("one that crosses it has no star", crossing and not any("*" in line for line in crossing),
          "\n".join(crossing))
    check("differences of the base are not drawn", not any(re.search("[│├┤┼]", line)
                                                           for line in base))
    stacked = re.sub(r"\s+", " ", text)
    for line in plain("compare", TINY).splitlines():
        if line.startswith(" "):
            figures = re.sub(r"\s+", " ", re.sub(r"^  .{22}", "", line)).strip()
            if figures not in stacked:
                check("all figures are there", False, line)
                return
    check("all figures are there", True)
    narrow = shown(80, "compare", TINY)
    equal("80 columns are too narrow", narrow.split("\nlatency")[0].rstrip("\n"),
          plain("compare", TINY).rstrip("\n"))
    middle = next(columns for columns in range(81, 200)
                  if "●" in shown(columns, "compare", TINY, "--replications", "2"))
    text = shown(middle, "compare", TINY)
    check("where one picture has room, it is that of the differences",
          re.search("[│├┤┼]", text) and not any("●" in line for line in text.splitlines()
                                               if line.startswith("    base ")), text)


try:
    os.close(pty.openpty()[0])
except OSError as error:
    skip("what a terminal shows", f"no pseudo-terminal here: {error}")
    end()
for part in (check_plain, check_widths, check_signs, check_places, check_latencies, check_compare):
    part()
end()
