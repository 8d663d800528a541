#!/usr/bin/env python3
"""check-cluster.py SPATE FOLDER TOOLS - the scripts of tools/cluster on real schedulers, in TAP

GNU parallel runs as it is.  Of SLURM, a cluster of this one machine is started with a configuration,
keys, ports and folders of its own, from the services that Debian packages (munge, slurmctld,
slurmd), and ended again.  That takes root; what cannot be done here is skipped and says so.
"""

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time

from tap import check, end, patience, skip

SPATE, FOLDER, TOOLS = (os.path.realpath(path) for path in sys.argv[1:4])
PATIENCE_S = patience(30)
SHARDS = "3"


def run(*command, **options):
    return subprocess.run(command, capture_output=True, text=True, check=False,
                          stdin=subprocess.DEVNULL, **options)


def tool(name):
    return os.path.join(TOOLS, name)


def as_text(store):
    done = run(SPATE, "merge", store, "--format", "json")
    return done.stdout if done.returncode == 0 else done.stderr


def missing(*programs):
    return [program for program in programs
            if shutil.which(program, path=os.environ["PATH"] + ":/usr/sbin:/sbin") is None]


# ---- GNU parallel

def parallel(whole):
    name = "GNU parallel runs all shards"
    if missing("parallel"):
        skip(name, "parallel is not installed")
        return
    done = run(tool("sweep-parallel.sh"), SHARDS, "valley.yaml", "with parallel",
               env=dict(os.environ, PARALLEL="--jobs 2 --will-cite"))
    check(name, done.returncode == 0, done.stderr)
    os.rename("with parallel/2-of-3.sqlite", "aside")
    done = run(tool("merge.sh"), SHARDS, "with parallel", "parallel.sqlite")
    check("... a missing shard is noticed", done.returncode == 1 and "shard 2 of 3 is missing" in
          done.stderr and not os.path.exists("parallel.sqlite"), done.stderr)
    os.rename("aside", "with parallel/2-of-3.sqlite")
    done = run(tool("merge.sh"), SHARDS, "with parallel", "parallel.sqlite")
    check("... they are joined to what one machine finds",
          done.returncode == 0 and as_text("parallel.sqlite") == whole, done.stderr)


# ---- a cluster of one machine

CONFIGURATION = """
ClusterName=spate-test
SlurmctldHost={host}(127.0.0.1)
SlurmctldPort={ctld_port}
SlurmdPort={slurmd_port}
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
AuthInfo=socket={work}/munge.socket
CredType=cred/munge
StateSaveLocation={work}/state
SlurmdSpoolDir={work}/spool
SlurmctldPidFile={work}/slurmctld.pid
SlurmdPidFile={work}/slurmd.pid
SlurmctldLogFile={work}/slurmctld.log
SlurmdLogFile={work}/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
MpiDefault=none
SwitchType=switch/none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
ReturnToService=2
MinJobAge=600
NodeName={host} NodeAddr=127.0.0.1 CPUs=2 State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES State=UP MaxTime=INFINITE
"""


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_for(what):
    """Whether it came to be in time."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if what():
            return True
        time.sleep(0.2)
    return False


class Cluster:
    """Its services are children of this process, and end with it."""

    def __init__(self, work):
        self.work = work
        self.host = socket.gethostname().split(".")[0]
        self.services = []
        self.environment = dict(os.environ, SLURM_CONF=f"{work}/slurm.conf", SPATE=SPATE,
                                PATH=os.environ["PATH"] + ":/usr/sbin:/sbin")

    def serve(self, *command):
        with open(f"{self.work}/services.log", "a", encoding="utf-8") as log:
            self.services.append(subprocess.Popen(command, env=self.environment, stdout=log,
                                                  stderr=log, stdin=subprocess.DEVNULL))

    def call(self, *command):
        return run(*command, env=self.environment)

    def start(self):
        work = self.work
        for name in ("state", "spool"):
            os.mkdir(f"{work}/{name}")
        with open(f"{work}/slurm.conf", "w", encoding="utf-8") as file:
            file.write(CONFIGURATION.format(work=work, host=self.host, ctld_port=free_port(),
                                            slurmd_port=free_port()))
        with open(f"{work}/munge.key", "wb") as file:
            file.write(os.urandom(1024))
        os.chmod(f"{work}/munge.key", 0o400)
        self.serve("munged", "--foreground", "--force", "--num-threads=2",
                   f"--socket={work}/munge.socket", f"--key-file={work}/munge.key",
                   f"--pid-file={work}/munged.pid", f"--log-file={work}/munged.log",
                   f"--seed-file={work}/munged.seed")
        socket_path = f"{work}/munge.socket"
        if not wait_for(lambda: self.has_ended() or os.path.exists(socket_path)) or \
                self.has_ended():
            return False
        self.serve("slurmctld", "-D")
        self.serve("slurmd", "-D")
        return wait_for(lambda: self.has_ended() or self.is_idle()) and self.is_idle()

    def is_idle(self):
        return self.call("sinfo", "--noheader", "--format=%t").stdout.strip() in ("idle", "mix")

    def has_ended(self):
        """A service that cannot run here (no cgroups, no name of this machine) ends by itself."""
        return any(service.poll() is not None for service in self.services)

    def stop(self):
        if self.has_ended():
            self.end()
            return
        self.call("scancel", "--user=root")
        wait_for(lambda: self.call("squeue", "--noheader").stdout.strip() == "")
        self.end()

    def end(self):
        for service in reversed(self.services):
            service.terminate()
            try:
                service.wait(patience(10))
            except subprocess.TimeoutExpired:
                service.kill()
                service.wait()

    def submit(self, *arguments):
        """The number of the job, 0 if it was refused."""
        done = self.call("sbatch", "--parsable", *arguments)
        return int(done.stdout.split(";")[0]) if done.returncode == 0 else 0

    def is_over(self, job):
        return self.call("squeue", "--noheader", f"--job={job}").stdout.strip() == ""

    def logs(self):
        text = ""
        for name in ("services.log", "munged.log", "slurmctld.log", "slurmd.log"):
            path = f"{self.work}/{name}"
            if os.path.exists(path):
                with open(path, encoding="utf-8", errors="replace") as file:
                    text += f"{name}:\n" + "".join(file.readlines()[-15:])
        return text


def slurm(whole):
    lacking = missing("munged", "slurmctld", "slurmd", "sbatch", "squeue", "sinfo", "scancel")
    if lacking or os.geteuid() != 0:
        skip("a SLURM of one node runs the job array",
             f"{', '.join(lacking)} not installed" if lacking else "needs root")
        return
    work = tempfile.mkdtemp(prefix="spate-slurm-")
    os.chmod(work, 0o755)
    cluster = Cluster(work)
    try:
        is_up = cluster.start()
        if is_up:
            array(cluster, whole)
        elif cluster.has_ended():
            # SLURM is not what is tested.
            why = cluster.logs().strip().splitlines()[-1:]
            skip("a SLURM of one node runs the job array",
                 f"SLURM does not run here: {' '.join(why)}")
        else:
            check("a SLURM of one node starts", False, cluster.logs())
    finally:
        cluster.stop()
        shutil.rmtree(work)


def array(cluster, whole):
    log = f"--output={cluster.work}/job-%a.log"
    job = cluster.submit(log, f"--array=1-{SHARDS}", tool("sweep.slurm"), SHARDS, "valley.yaml",
                         "with slurm")
    merge = cluster.submit(f"--output={cluster.work}/merge.log", f"--dependency=afterok:{job}",
                           tool("merge.sh"), SHARDS, "with slurm", "slurm.sqlite")
    over = job > 0 and merge > 0 and wait_for(lambda: cluster.is_over(merge))
    check("... it runs the job array, then the merge", over and os.path.exists("slurm.sqlite"),
          f"jobs {job}, {merge}\n" + cluster.logs())
    check("... to what one machine finds", as_text("slurm.sqlite") == whole)
    again = cluster.submit(log, "--array=2", tool("sweep.slurm"), SHARDS, "valley.yaml",
                           "with slurm", "--replications", "8")
    over = again > 0 and wait_for(lambda: cluster.is_over(again))
    text = as_text("with slurm/2-of-3.sqlite")
    check("... and one shard once more, with more replications",
          over and '"point": 1, ' in text and text.count('"replications": 8') == 7, text[:300])


def main():
    work = tempfile.mkdtemp()
    os.environ["SPATE"] = SPATE
    try:
        os.chdir(work)
        shutil.copy(os.path.join(FOLDER, "valley.yaml"), work)
        run(SPATE, "sweep", "valley.yaml", "--store", "whole.sqlite")
        whole = as_text("whole.sqlite")
        parallel(whole)
        slurm(whole)
    finally:
        os.chdir("/")
        shutil.rmtree(work)
    end()


main()
