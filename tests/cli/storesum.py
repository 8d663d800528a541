"""The sums of a store, worked out anew as docs/store.md says: to check them, and to give an edited
store the sums of one that was written so."""

import hashlib
import math
import sqlite3
import struct

WORD = (1 << 64) - 1
HEAD = ("title", "version", "scenario", "sha256", "settings", "design")


def mix(word):
    word = (word ^ word >> 30) * 0xBF58476D1CE4E5B9 & WORD
    word = (word ^ word >> 27) * 0x94D049BB133111EB & WORD
    return word ^ word >> 31


def combine(words):
    found = 0
    for word in words:
        found = mix(mix((found + 0x9E3779B97F4A7C15) & WORD) + word & WORD)
    return found


def name_word(name):
    if name is None:
        return 0
    found = 0xCBF29CE484222325
    for byte in name.encode():
        found = (found ^ byte) * 0x100000001B3 & WORD
    return mix(found)


def number_word(number):
    if number is None or math.isnan(number):
        return 0x7FF8000000000000
    return struct.unpack("<Q", struct.pack("<d", number + 0.0))[0]


def head_sum(connection):
    about = dict(connection.execute("SELECT key, value FROM about"))
    return hashlib.sha256(b"".join(about[key].encode() + b"\0" for key in HEAD)).hexdigest()


def row_sum(connection):
    names = {number: combine(map(name_word, names)) for number, *names in connection.execute(
        "SELECT measure, name, traffic, bearer, node, bridge FROM measures")}
    found = 0
    for point, replication in connection.execute("SELECT point, replication FROM runs"):
        found += combine((1, point, replication))
    for point, measure, replication, *values in connection.execute(
            "SELECT point, measure, replication, value, counted, out_of FROM samples"):
        found += combine((2, point, names[measure], replication, *map(number_word, values)))
    for point, measure, *values, n in connection.execute(
            "SELECT point, measure, mean, ci95_low, ci95_high, n FROM sums"):
        found += combine((3, point, names[measure], *map(number_word, values), n))
    return f"{found & WORD:016x}"


def written(store):
    with sqlite3.connect(store) as connection:
        about = dict(connection.execute("SELECT key, value FROM about"))
    connection.close()
    return about["head-sum"], about["row-sum"]


def worked_out(store):
    with sqlite3.connect(store) as connection:
        sums = head_sum(connection), row_sum(connection)
    connection.close()
    return sums


def reseal(store):
    head, rows = worked_out(store)
    with sqlite3.connect(store) as connection:
        connection.execute("UPDATE about SET value = ? WHERE key = 'head-sum'", (head,))
        connection.execute("UPDATE about SET value = ? WHERE key = 'row-sum'", (rows,))
    connection.close()
