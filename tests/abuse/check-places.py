#!/usr/bin/env python3
"""check-places.py SPATE - disks that fill, pipes that close, streams that are not there, in TAP"""

import fcntl
import os
import shutil
import subprocess
import threading
import time

import abuse

JSON = ["run", abuse.SMALL, "--format", "json"]
LINKS = ["links", abuse.SMALL, "--format", "json"]
WALK = os.path.join(abuse.FOLDER, "../../scenarios/tarn-hollow-walk.csv")
FIT = ["fit", WALK, "--scenario", WALK.replace("-walk.csv", ".yaml")]


def wrongs_of(done, status, *words):
    err = done.stderr.decode()
    wrongs = [f"not told: {word}: {err}" for word in words if word not in err]
    return wrongs + ([f"status {done.returncode}: {err}"] if done.returncode != status else [])


def check_full_device():
    for command in (["new"], ["airtime"], LINKS, FIT, JSON, ["compare", abuse.SMALL],
                    ["check", abuse.SMALL], ["--help"], ["run", "--help"], ["--version"]):
        with open("/dev/full", "wb") as full:
            done = abuse.spate(command, stdout=full)
        words = " ".join(os.path.basename(word) for word in command)
        abuse.check(f"{words}: a full device behind standard output",
                    wrongs_of(done, 3, "cannot write standard output", "No space left"))
    done = abuse.spate(JSON + ["--output", "/dev/full"])
    abuse.check("a full device as the file",
                wrongs_of(done, 3, "cannot write /dev/full", "No space left"))
    done = abuse.spate(JSON + ["--output", "out", "--events", "/dev/full"])
    abuse.check("a full device for the log",
                wrongs_of(done, 3, "cannot write /dev/full", "No space left"))


def check_small_disk():
    """The temporary file stands beside the file: there must be room for both."""
    os.mkdir("disk")
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=16k", "tmpfs", "disk"],
                             capture_output=True, check=False)
    if mounted.returncode != 0:
        abuse.skip("a small disk", "it takes root, and leave to mount")
        return
    try:
        abuse.write("disk/out", abuse.OLD)
        for name, command in (("a result", JSON + ["--replications", "150", "--output", "disk/out"]),
                              ("a log", ["run", abuse.SMALL, "--events", "disk/out"])):
            done = abuse.spate(command)
            wrongs = wrongs_of(done, 3, "cannot write disk/out", "No space left")
            if abuse.content("disk/out") != abuse.OLD or os.listdir("disk") != ["out"]:
                wrongs.append(f"the disk holds {os.listdir('disk')}")
            abuse.check(f"{name} that a disk has no room for", wrongs)
        done = abuse.spate(["airtime", "--output", "disk/out"])
        abuse.check("what it has room for", wrongs_of(done, 0))
    finally:
        subprocess.run(["umount", "disk"], check=True)


def check_closed_pipe():
    read_end, write_end = os.pipe()
    os.close(read_end)
    done = abuse.spate(JSON, stdout=write_end)
    os.close(write_end)
    abuse.check("nobody at the other end", wrongs_of(done, 3, "standard output", "Broken pipe"))

    process = subprocess.Popen([abuse.SPATE, "new"], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    head = subprocess.run(["head", "-n", "1"], stdin=process.stdout, capture_output=True,
                          check=False)
    process.stdout.close()
    err = process.stderr.read()
    status = process.wait()
    is_good = (status, err) == (0, b"") or (status == 3 and b"Broken pipe" in err)
    abuse.check("one line is enough", [] if is_good and head.stdout.count(b"\n") == 1 else [str(err)])


def check_closed_streams():
    """The numbers of closed streams are given anew; no result may get into the wrong one."""
    whole = abuse.spate(JSON).stdout
    for closed, reader in ((0, "<&-"), (1, ">&-"), (2, "2>&-")):
        abuse.write("out", abuse.OLD)
        subprocess.run(["sh", "-c", f'"$@" {reader}', "sh", abuse.SPATE, *JSON, "--output", "out"],
                       capture_output=True, check=True)
        abuse.check(f"a file, stream {closed} closed",
                    [] if abuse.content("out") == whole else ["not whole"])
    done = subprocess.run(["sh", "-c", '"$@" >&-', "sh", abuse.SPATE, *JSON], capture_output=True,
                          check=False)
    abuse.check("standard output closed", wrongs_of(done, 3, "standard output", "Bad file"))
    done = subprocess.run(["sh", "-c", '"$@" <&-', "sh", abuse.SPATE, "run", "-"],
                          capture_output=True, check=False)
    abuse.check("standard input closed", wrongs_of(done, 3, "standard input", "Bad file"))
    abuse.write("out", abuse.OLD)
    subprocess.run(["sh", "-c", '"$@" 2>&-', "sh", abuse.SPATE, "run", "nowhere.yaml", "--events",
                    "out"], capture_output=True, check=False)
    abuse.check("no complaint gets into a file",
                [] if abuse.content("out") == abuse.OLD else ["it did"])


def check_pipe_without_waiting():
    """Whoever shares the pipe has asked never to wait on it, and reads late."""
    whole = abuse.spate(JSON).stdout
    read_end, write_end = os.pipe()
    fcntl.fcntl(write_end, fcntl.F_SETPIPE_SZ, 4096)
    os.set_blocking(write_end, False)
    got = []

    def read_late():
        time.sleep(0.2)
        with open(read_end, "rb") as pipe:
            got.append(pipe.read())

    reader = threading.Thread(target=read_late)
    reader.start()
    done = abuse.spate(JSON, stdout=write_end)
    os.close(write_end)
    reader.join()
    wrongs = wrongs_of(done, 0)
    if len(whole) <= 4096:
        wrongs.append("it fits into the pipe")
    abuse.check("a pipe that is not waited on",
                wrongs + ([] if got == [whole] else [f"{len(got[0])} of {len(whole)} bytes"]))


def check_inputs_stay():
    shutil.copy(abuse.SMALL, "mine.yaml")
    before = abuse.content("mine.yaml")
    for command in ("run", "compare", "check", "links", "lint"):
        done = abuse.spate([command, "mine.yaml", "--output", "mine.yaml"])
        wrongs = wrongs_of(done, 2, "would overwrite the scenario mine.yaml")
        if abuse.content("mine.yaml") != before:
            wrongs.append("it was overwritten")
            abuse.write("mine.yaml", before)
        abuse.check(f"{command}: the scenario as the output", wrongs)
    abuse.write("out", abuse.OLD)
    done = abuse.spate(["lint", "mine.yaml", "nowhere.yaml", "--output", "out"])
    wrongs = wrongs_of(done, 3, "nowhere.yaml: cannot be read")
    abuse.check("lint: a file of findings that lacks some",
                wrongs + ([] if abuse.content("out") == abuse.OLD else ["it was written"]))


def main():
    with abuse.work_folder():
        check_full_device()
        check_small_disk()
        check_closed_pipe()
        check_closed_streams()
        check_pipe_without_waiting()
        check_inputs_stay()
    abuse.end()


main()
