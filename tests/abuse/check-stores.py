#!/usr/bin/env python3
"""check-stores.py SPATE [STORES [RESULTS [SEED]]] - stores and results that were changed, in TAP

Bytes of a store are changed, cut or doubled, and its content is changed by SQL.  Whatever was done:
merge gives the very figures of the store as it was, or a status of 2 or 3 with a reason; it neither
hangs nor dies.  Sums that were worked out anew make other figures legal, nothing else.  Of results the
same is asked of report and check --against, which may give other figures: JSON has no sum.

By hand: check-stores.py build-gcc/src/cli/spate 5000 5000
"""

import os
import random
import shutil
import sqlite3
import subprocess

import abuse
import storesum
import sys
from tap import patience

STORES = int(sys.argv[2]) if len(sys.argv) > 2 else 40
RESULTS = int(sys.argv[3]) if len(sys.argv) > 3 else 20
SEED = int(sys.argv[4]) if len(sys.argv) > 4 else 1
VALLEY = os.path.join(abuse.FOLDER, "..", "cli", "valley.yaml")
TABLES = {"about": ["key", "value"], "paths": ["path", "name"], "points": ["point", "variant"],
          "settings": ["point", "path", "value"], "measures": ["name", "traffic", "node", "unit"],
          "runs": ["point", "replication"],
          "samples": ["point", "measure", "replication", "value", "counted", "out_of"],
          "sums": ["point", "mean", "n"]}
VALUES = ["0", "-1", "1e308", "NULL", "'x'", "x'00ff'", "CAST(x'c328' AS TEXT)", "9223372036854775807",
          "'a' || char(0) || 'b'", "zeroblob(100000)", "1e999", "char(27) || '[2J'"]


def run(arguments):
    """None: it did not end."""
    try:
        return abuse.spate(arguments, timeout=patience(60))
    except subprocess.TimeoutExpired:
        return None


def change_bytes(draw, path):
    content = bytearray(abuse.content(path))
    kind = draw.randrange(5)
    for _ in range(draw.choice([1, 1, 2, 8, 64])):
        at = draw.randrange(len(content))
        # Half of them where pages and the file have their heads.
        if draw.random() < 0.5:
            at = at // 4096 * 4096 + draw.randrange(100)
        at = min(at, len(content) - 1)
        if kind <= 1:
            content[at] = draw.choice([0, 255, draw.randrange(256), content[at] ^ 1 << draw.randrange(8)])
        elif kind == 2:
            content[at:at + 4096] = content[at // 2:at // 2 + len(content[at:at + 4096])]
        elif kind == 3:
            del content[max(at, 100):]
        else:
            content[at:at + draw.randrange(1, 200)] = bytes(draw.randrange(1, 200))
    abuse.write(path, bytes(content))
    return f"bytes, kind {kind}"


def statement(draw):
    table = draw.choice(list(TABLES))
    column = draw.choice(TABLES[table])
    some = f"{draw.choice(TABLES[table])} IS (SELECT {column} FROM {table} LIMIT 1 OFFSET " \
           f"{draw.randrange(8)})"
    value = draw.choice([*VALUES, f"{column} + 1", f"{column} || 'x'"])
    return draw.choice([
        f"UPDATE OR IGNORE {table} SET {column} = {value} WHERE {some}",
        f"UPDATE OR IGNORE {table} SET {column} = {value}",
        f"DELETE FROM {table} WHERE {some}", f"DELETE FROM {table}", f"DROP TABLE {table}",
        f"ALTER TABLE {table} ADD COLUMN more",
        f"CREATE TRIGGER t AFTER DELETE ON {table} BEGIN SELECT 1; END",
        f"DROP TABLE {table}; CREATE VIEW {table} AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL"
        f" SELECT i + 1 FROM n) SELECT {', '.join('i AS ' + name for name in TABLES[table])} FROM n",
        f"INSERT OR IGNORE INTO {table} SELECT * FROM {table} LIMIT 3",
        "PRAGMA user_version = 3", "PRAGMA application_id = 1"])


def change_content(draw, path):
    """Also whether the sums are those of the new content."""
    text = statement(draw)
    with sqlite3.connect(path) as base:
        try:
            base.executescript("PRAGMA synchronous = OFF; " + text)
        except sqlite3.Error as error:
            text += f" ({error})"
    base.close()
    # What is endless has no sum: to work it out would take all memory.
    if draw.random() < 0.5 or "RECURSIVE" in text:
        return text, False
    try:
        storesum.reseal(path)
    except (sqlite3.Error, KeyError, TypeError, ValueError, OverflowError, AttributeError):
        return text, False
    return text + ", summed anew", True


def wrongs_of(done, what, whole):
    """`whole`: the only output that may go with status 0; None: any."""
    if done is None:
        return [f"{what}: no end"]
    if done.returncode not in (0, 1, 2, 3) or abuse.is_sanitized(done):
        return [f"{what}: status {done.returncode}: {done.stderr[:300]}"]
    if done.returncode == 0 and whole is not None and done.stdout != whole:
        return [f"{what}: other figures with status 0"]
    if done.returncode >= 2 and not done.stderr.strip():
        return [f"{what}: status {done.returncode} without a reason"]
    return []


def check_stores(draw):
    shutil.copy(VALLEY, "valley.yaml")
    abuse.spate(["sweep", "valley.yaml", "--store", "whole.sqlite", "--replications", "2", "--quiet"])
    command = ["merge", "changed.sqlite", "--format", "json", "--quiet"]
    shutil.copy("whole.sqlite", "changed.sqlite")
    whole = abuse.spate(command).stdout
    wrongs, n_accepted = [] if whole else ["no store"], 0
    for i in range(STORES):
        shutil.copy("whole.sqlite", "changed.sqlite")
        if i % 2 == 0:
            what, is_summed = change_bytes(draw, "changed.sqlite"), False
        else:
            what, is_summed = change_content(draw, "changed.sqlite")
        done = run(command)
        n_accepted += done is not None and done.returncode == 0
        wrongs += wrongs_of(done, what, None if is_summed else whole)
        if i % 5 == 0:
            wrongs += wrongs_of(run(["sweep", "valley.yaml", "--store", "changed.sqlite",
                                     "--replications", "2", "--quiet"]), f"sweep: {what}", None)
        for name in ("changed.sqlite-journal", "changed.sqlite-wal", "changed.sqlite-shm"):
            if os.path.exists(name):
                os.remove(name)
    abuse.check(f"{STORES} changed stores, {n_accepted} of them accepted", wrongs)


def change_text(draw, content):
    content = bytearray(content)
    for _ in range(draw.choice([1, 1, 2, 8])):
        at, length = draw.randrange(len(content)), draw.randrange(1, 60)
        content[at:at + length] = draw.choice([
            b"", bytes([draw.randrange(256)]), content[at // 2:at // 2 + length], b"null", b"1e999",
            b"-1", b'"', b"[[[[", b"\xff", b"99999999999999999999", b"{", b"}"])
    return bytes(content)


def check_results(draw):
    done = abuse.spate(["run", abuse.SMALL, "--format", "json", "--detail", "--quiet"])
    wrongs, n_accepted = [] if done.returncode == 0 else [str(done.stderr)], 0
    for i in range(RESULTS):
        abuse.write("changed.json", change_text(draw, done.stdout))
        got = run(["report", "changed.json", "--output", "page.html"] if i % 2 == 0 else
                  ["check", abuse.SMALL, "--replications", "1", "--quiet", "--against",
                   "changed.json"])
        n_accepted += got is not None and got.returncode < 2
        wrongs += wrongs_of(got, f"change {i}", None)
    abuse.check(f"{RESULTS} changed results, {n_accepted} of them accepted", wrongs)


def main():
    draw = random.Random(SEED)
    with abuse.work_folder():
        check_stores(draw)
        check_results(draw)
    abuse.end()


main()
