#!/usr/bin/env bash
# Run a study as a job array on a Slurm cluster of one node that is started here on loopback, and compare what is gathered
# with a run of the same study in threads. Needs root and the Debian packages slurm-wlm and munge; fails where Slurm
# cannot start. Give the folder of the virtual environment's programs: .ci/slurm.sh .venv/bin
set -euo pipefail
programs=$(cd "${1:?the folder of drydown, such as .venv/bin}" && pwd)
work=$(mktemp -d /tmp/drydown-slurm.XXXXXX)
chmod 755 "$work"
host=$(hostname -s)
export SLURM_CONF="$work/slurm.conf"
started=()

fail() {
    echo "slurm: $1" >&2
    tail -n 20 "$work"/*.log 2>/dev/null >&2 || true
    exit 1
}

cleanup() {
    for pid in "${started[@]}"; do kill "$pid" 2>/dev/null || true; done
    sleep 1
    for pid in "${started[@]}"; do kill -9 "$pid" 2>/dev/null || true; done
    rm -rf "$work"
}
trap cleanup EXIT

for program in munged slurmctld slurmd sbatch sinfo squeue; do
    command -v "$program" >/dev/null || PATH="$PATH:/usr/sbin" command -v "$program" >/dev/null || fail "$program is not installed"
done
PATH="$PATH:/usr/sbin"

# A key and a socket of our own, so that nothing of the machine is touched.
mkdir -p "$work"/{munge,state,spool}
chmod 700 "$work/munge"
dd if=/dev/urandom of="$work/munge/key" bs=1 count=1024 status=none
chmod 400 "$work/munge/key"
chmod 755 "$work"
socket="$work/munge.socket"
munged --force --key-file="$work/munge/key" --socket="$socket" --pid-file="$work/munge/pid" \
    --log-file="$work/munge/log" --seed-file="$work/munge/seed" || fail "munged does not start"
started+=("$(cat "$work/munge/pid")")

read -r controller node < <(python3 -c 'import socket
free = [socket.socket() for _ in range(2)]
for s in free: s.bind(("127.0.0.1", 0))
print(*(s.getsockname()[1] for s in free))')
cat >"$SLURM_CONF" <<CONF
ClusterName=drydown
SlurmctldHost=$host(127.0.0.1)
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
AuthInfo=socket=$socket
CredType=cred/munge
SlurmctldPort=$controller
SlurmdPort=$node
StateSaveLocation=$work/state
SlurmdSpoolDir=$work/spool
SlurmctldPidFile=$work/slurmctld.pid
SlurmdPidFile=$work/slurmd.pid
SlurmctldLogFile=$work/slurmctld.log
SlurmdLogFile=$work/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SwitchType=switch/none
MpiDefault=none
AccountingStorageType=accounting_storage/none
JobAcctGatherType=jobacct_gather/none
ReturnToService=2
SchedulerParameters=batch_sched_delay=0,sched_interval=2
NodeName=$host NodeAddr=127.0.0.1 CPUs=$(nproc) RealMemory=4000 State=UNKNOWN
PartitionName=loopback Nodes=$host Default=YES MaxTime=INFINITE State=UP
CONF
slurmctld -D >"$work/slurmctld.out.log" 2>&1 &
started+=($!)
slurmd -D >"$work/slurmd.out.log" 2>&1 &
started+=($!)
for _ in $(seq 60); do
    [ "$(sinfo -h -o %T 2>/dev/null)" = idle ] && break
    sleep 0.5
done
[ "$(sinfo -h -o %T 2>/dev/null)" = idle ] || fail "the node does not get ready: $(sinfo 2>&1)"
echo "slurm: $(sinfo --version), $(nproc) processors, node $host idle"

cd "$work"
"$programs/drydown" new wall.toml >/dev/null
sed -i 's/^years = .*/days = 200/' wall.toml
"$programs/drydown" study new study.toml >/dev/null
"$programs/drydown" study run study.toml --store threads
"$programs/drydown" study slurm study.toml --store array --parts 3 --memory 1000 --submit
for _ in $(seq 240); do
    [ -z "$(squeue -h)" ] && break
    sleep 1
done
[ -z "$(squeue -h)" ] || fail "the jobs do not end: $(squeue)"
cat array/slurm-*.log
# The same study on dask workers that are jobs of this Slurm.
"$programs/python" - <<'PYTHON' || fail "the study does not run on dask workers in Slurm"
from dask_jobqueue import SLURMCluster
from distributed import Client
from drydown.study import read_study, run

cluster = SLURMCluster(cores=1, processes=1, memory="1000MB", interface="lo", walltime="00:20:00", log_directory="dask-logs",
                       scheduler_options={"dashboard_address": None})
cluster.scale(jobs=2)
with cluster, Client(cluster) as client:
    client.wait_for_workers(2, timeout=120)
    done = run(read_study("study.toml"), "dask", client=client)
print(f"slurm: {done.computed} cases on two dask workers in {done.seconds:.0f} s")
assert done.computed == 8 and not done.failed
PYTHON
"$programs/drydown" study status study.toml --store array --check
for store in threads array dask; do "$programs/drydown" study gather study.toml --store $store >/dev/null; done
"$programs/python" - <<'PYTHON' || fail "the results of the job array or of dask differ from those of the threads"
import sys
import xarray as xr

a, b, c = (xr.open_dataset(f"{store}/result.nc").load() for store in ("threads", "array", "dask"))
same = a.identical(b) and a.identical(c) and not a["failed"].any()
numbers = [n for n in a.variables if a[n].dtype.kind == "f"]
same &= all(a[n].values.tobytes() == b[n].values.tobytes() == c[n].values.tobytes() for n in numbers)
log = open("array/log.txt").read()
parts = {line.split("part ")[1].split(",")[0] for line in log.splitlines() if "part " in line}
print(f"slurm: {a.sizes['case']} cases by parts {sorted(parts)}, the same bits as from threads: {same}")
sys.exit(not (same and parts == {"1/3", "2/3", "3/3"}))
PYTHON
