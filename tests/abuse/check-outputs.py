#!/usr/bin/env python3
"""check-outputs.py SPATE - what an output may replace, in TAP

No output takes the place of an input or of another output, by whatever name it is called: nothing
is written then, and the status is 2.  What is replaced keeps its mode; a link leads to its file.
"""

import os
import stat

import abuse

TABLE = b"sender,receiver,bearer,loss\nridge,farm,valley,101 dB\nfarm,ridge,valley,102 dB\n"
SHORT = ["--set", "run.duration=3 min"]


def scenario():
    """Of the base, a variant and a sweep, each names a table of its own; one more is for --set."""
    with open(abuse.SMALL, "rb") as file:
        text = file.read()
    tabled = b"links: [{table: base.csv}]\n"
    text = text.replace(b"variants:\n", b"variants:\n  far:\n    set: {links.0.table: far.csv}\n")
    text += tabled + b"sweep: [{vary: links.0.table, values: [base.csv, swept.csv]}]\n"
    text += b"size: {vary: nodes.sensor.count, from: 1, to: 3}\n"
    return text


def tree():
    """What the folder holds: bytes of files, where links lead."""
    return {name: os.readlink(name) if os.path.islink(name) else abuse.content(name)
            for name in sorted(os.listdir()) if not os.path.isdir(name)}


def prepare():
    for name in os.listdir():
        os.remove(name)
    abuse.write("mine.yaml", scenario())
    for name in ("base.csv", "far.csv", "set.csv", "swept.csv"):
        abuse.write(name, TABLE)
    abuse.write("design.csv", b"nodes.sensor.count\n1\n2\n")
    os.link("base.csv", "hard.csv")
    os.symlink("base.csv", "soft.csv")
    os.symlink("out", "dangling")


def refuses(name, command, *words, **settings):
    before = tree()
    done = abuse.spate(command, **settings)
    err = done.stderr.decode()
    wrongs = [f"not told: {word}: {err[:300]}" for word in words if word not in err]
    if done.returncode != 2:
        wrongs.append(f"status {done.returncode}: {err[:300]}")
    after = tree()
    wrongs += [f"{path}: changed" for path in {*before, *after}
               if before.get(path) != after.get(path)]
    abuse.check(name, wrongs)
    if wrongs:
        prepare()


def works(name, command, *outputs, statuses=(0, 1), **settings):
    done = abuse.spate(command, **settings)
    wrongs = [] if done.returncode in statuses else [f"status {done.returncode}: {done.stderr}"]
    wrongs += [f"{path}: not written" for path in outputs if not abuse.content(path)]
    abuse.check(name, wrongs)


def check_tables():
    told = "would overwrite the table base.csv"
    for command in ("run", "compare", "check", "lint", "links", "size", "advise"):
        refuses(f"{command}: a table of the scenario", [command, "mine.yaml", *SHORT, "--output",
                                                        "base.csv"], told)
    for path in ("./base.csv", "hard.csv", "soft.csv", os.path.abspath("base.csv")):
        refuses(f"a table called {os.path.basename(path)}",
                ["lint", "mine.yaml", "--output", path], told)
    for option in ("--report", "--events", "--capture"):
        refuses(f"{option}: a table of the scenario",
                ["run", "mine.yaml", *SHORT, option, "base.csv", "--output", "out"], told)
    refuses("--plot: a table of the scenario",
            ["run", "mine.yaml", *SHORT, "--plot", "load=base.csv", "--output", "out"], told)
    refuses("a table of a variant", ["run", "mine.yaml", *SHORT, "--variant", "far", "--output",
                                     "far.csv"], "the table far.csv")
    refuses("a table of a variant that is not run", ["run", "mine.yaml", *SHORT, "--output",
                                                     "far.csv"], "the table far.csv")
    refuses("a table that --set names",
            ["run", "mine.yaml", *SHORT, "--set", "links.0.table=set.csv", "--output", "set.csv"],
            "the table set.csv")
    refuses("a table that a sweep names",
            ["sweep", "mine.yaml", *SHORT, "--quiet", "--format", "csv", "--output", "swept.csv"],
            "the table swept.csv")
    abuse.write("base.csv", b"from,to\nthere is a fault in this table\n")
    refuses("a table with a fault", ["lint", "mine.yaml", "--output", "base.csv"], told)
    prepare()
    with open("base.csv", "ab") as table:
        refuses("a table behind standard output", ["lint", "mine.yaml"],
                "standard output would overwrite the table base.csv", stdout=table)


def check_faults():
    """What a scenario with faults names may never have been looked at."""
    for name, more in (("broken", b"links: [{table: base.csv}\nmore: [\n"),
                       ("misspelt", b"linkz: [{table: base.csv}]\n"),
                       ("latin", b"title: \xe9\nlinks: [{table: base.csv}]\n")):
        abuse.write(f"{name}.yaml", b"spate: 1\n" + more)
        refuses(f"a table that a {name} scenario may name",
                ["lint", f"{name}.yaml", "--output", "base.csv"], "base.csv was not overwritten",
                f"{name}.yaml:")
        works(f"the findings of a {name} scenario",
              ["lint", f"{name}.yaml", "--output", "findings"], "findings", statuses=(2,))
        abuse.write("findings", b"misspelt.yaml:1:1: an earlier finding\n")
        works("... replace those of before",
              ["lint", f"{name}.yaml", "--output", "findings"], "findings", statuses=(2,))
        abuse.check("... wholly", [] if b"earlier" not in abuse.content("findings") else ["no"])
        abuse.write("findings", b"")
        works("... which may be none", ["lint", f"{name}.yaml", "--output", "findings"],
              "findings", statuses=(2,))
        os.remove("findings")
    prepare()


def check_inputs():
    abuse.spate(["run", abuse.SMALL, *SHORT, "--format", "json", "--output", "old.json"])
    abuse.check("an earlier result", [] if abuse.content("old.json") else ["not written"])
    refuses("check: the earlier result", ["check", abuse.SMALL, *SHORT, "--against", "old.json",
                                          "--output", "./old.json"], "the earlier result old.json")
    refuses("report: its result", ["report", "old.json", "--output", "./old.json"],
            "the result old.json")
    with open("mine.yaml", "rb") as text:
        refuses("a scenario by standard input", ["lint", "-", "--output", "mine.yaml"],
                "the scenario on standard input", stdin=text)
    refuses("sweep: its design",
            ["sweep", "mine.yaml", "--design", "design.csv", "--quiet", "--format", "csv",
             "--output", "design.csv"], "the design design.csv")
    refuses("sweep: a design as its store", ["sweep", "mine.yaml", "--design", "design.csv",
                                             "--store", "design.csv"], "the design design.csv")
    refuses("sweep: a table as its store", ["sweep", "mine.yaml", "--store", "base.csv"],
            "the table base.csv")
    os.remove("old.json")


def check_stores():
    sweep = ["sweep", "mine.yaml", *SHORT, "--quiet", "--replications", "1"]
    text = ["--format", "csv", "--output"]
    refuses("sweep: its default store, before there is one", [*sweep, *text, "mine.sqlite"],
            "where --store goes")
    refuses("sweep: the store of its shard", [*sweep, "--shard", "1/2", *text,
                                              "mine.1-of-2.sqlite"], "where --store goes")
    works("a sweep", sweep, "mine.sqlite")
    os.link("mine.sqlite", "other.sqlite")
    for path in ("mine.sqlite", "./mine.sqlite", "other.sqlite"):
        refuses(f"sweep: its store, as {path}", [*sweep, *text, path], "where --store goes")
    refuses("sweep: the journal of its store", [*sweep, *text, "mine.sqlite-journal"],
            "the journal of a store")
    refuses("sweep: its scenario as the store", [*sweep, "--store", "mine.yaml"],
            "the scenario mine.yaml")
    refuses("merge: a store as the text", ["merge", "mine.sqlite", *text, "other.sqlite"],
            "the store mine.sqlite")
    refuses("merge: the journal of a store", ["merge", "mine.sqlite", *text, "mine.sqlite-journal"],
            "the journal of a store")
    before = abuse.spate(["merge", "mine.sqlite", "--format", "csv"]).stdout
    works("merge: an input as the output joins it", ["merge", "mine.sqlite", "--output",
                                                     "mine.sqlite"], "mine.sqlite")
    after = abuse.spate(["merge", "mine.sqlite", "--format", "csv"]).stdout
    abuse.check("... and loses nothing", [] if before == after != b"" else ["it does"])
    prepare()


def check_two_outputs():
    run = ["run", "mine.yaml", *SHORT, "--output", "out"]
    for option in ("--report", "--events", "--capture"):
        refuses(f"{option} and --output on one file", [*run, option, "./out"],
                "./out is where --output goes")
    refuses("--plot and --output on one file", [*run, "--plot", "load=dangling"],
            "dangling is where --output goes")
    refuses("two plots on one file", [*run, "--plot", "load=p.svg", "--plot", "latency=./p.svg"],
            "where another --plot goes")
    refuses("--events and --capture on one file", [*run, "--events", "e", "--capture", "./e"],
            "./e is where --events goes")
    refuses("--report and standard output", ["run", "mine.yaml", *SHORT, "--report", "-"],
            "standard output takes the result")
    with open("out", "wb") as out:
        refuses("the file behind standard output", ["run", "mine.yaml", *SHORT, "--events", "out"],
                "standard output takes the result", stdout=out)
    works("only the null device takes two", [*run[:-1], "/dev/null", "--events", "/dev/null"])
    prepare()


def mode_of(path):
    return stat.S_IMODE(os.stat(path).st_mode)


def check_modes():
    os.umask(0o022)
    run = ["run", "mine.yaml", *SHORT]
    for mode in (0o600, 0o640, 0o664, 0o400):
        abuse.write("out", abuse.OLD)
        os.chmod("out", mode)
        works(f"a file of mode {mode:o}", [*run, "--output", "out"], "out")
        abuse.check("... keeps it", [] if mode_of("out") == mode else [oct(mode_of("out"))])
        os.remove("out")
    works("a new file", [*run, "--output", "out"], "out")
    abuse.check("... obeys umask", [] if mode_of("out") == 0o644 else [oct(mode_of("out"))])
    if os.geteuid() == 0:
        os.chown("out", 12345, 23456)
        os.chmod("out", 0o640)
        works("a file of somebody else's", [*run, "--output", "out"], "out")
        kept = os.stat("out")
        abuse.check("... stays theirs", [] if (kept.st_uid, kept.st_gid) == (12345, 23456)
                    else [str(kept)])
    else:
        abuse.skip("a file of somebody else's", "it takes root to make one")
    for store in ("a.sqlite", "b.sqlite"):
        abuse.spate(["sweep", "mine.yaml", *SHORT, "--quiet", "--store", store])
    os.chmod("b.sqlite", 0o600)
    works("merge into a store of mode 600", ["merge", "a.sqlite", "--output", "b.sqlite"])
    abuse.check("... keeps it", [] if mode_of("b.sqlite") == 0o600 else [oct(mode_of("b.sqlite"))])
    prepare()


def check_links():
    works("through a link to nothing", ["airtime", "--output", "dangling"], "out")
    abuse.check("... which stays", [] if os.path.islink("dangling") else ["it was replaced"])
    os.remove("out")
    works("merge through a link to nothing", ["sweep", "mine.yaml", *SHORT, "--quiet", "--store",
                                              "a.sqlite"])
    works("...", ["merge", "a.sqlite", "--output", "dangling"], "out")
    abuse.check("... which stays", [] if os.path.islink("dangling") else ["it was replaced"])
    os.symlink("ring", "gnir")
    os.symlink("gnir", "ring")
    done = abuse.spate(["airtime", "--output", "ring"])
    abuse.check("a ring of links", [] if done.returncode == 3 and os.path.islink("ring")
                and b"cannot write ring" in done.stderr else [str(done)])
    os.symlink("nowhere/file", "lost")
    done = abuse.spate(["airtime", "--output", "lost"])
    abuse.check("a link into no folder", [] if done.returncode == 3 and os.path.islink("lost")
                else [str(done)])
    prepare()


def check_new():
    works("new: a file that is not there", ["new", "--output", "out"], "out")
    abuse.write("out", abuse.OLD)
    refuses("new: a file that is there", ["new", "--output", "out"], "already exists", "--force")
    abuse.write("empty", b"")
    refuses("new: even an empty one", ["new", "--output", "empty"], "--force")
    works("new --force", ["new", "--output", "out", "--force"])
    abuse.check("... replaces it", [] if abuse.content("out") != abuse.OLD else ["it does not"])
    works("new: a device", ["new", "--output", "/dev/null"])
    os.remove("out")
    works("new: where a link leads", ["new", "--output", "dangling"], "out")
    refuses("new: a link to a file", ["new", "--output", "dangling"], "already exists")
    prepare()


def main():
    with abuse.work_folder():
        prepare()
        works("the scenario", ["run", "mine.yaml", *SHORT])
        check_tables()
        prepare()
        check_faults()
        check_inputs()
        prepare()
        check_stores()
        check_two_outputs()
        check_modes()
        check_links()
        check_new()
    abuse.end()


main()
