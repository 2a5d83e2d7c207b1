"""A batch on dask.distributed's executor, on this machine's loopback: run by `test_dask`, in whose folder the engine lies.

Prints what happened, or ends with an error: outcomes must equal those of one process although a worker is killed meanwhile.
"""

import os
import signal
import sys
import time
from pathlib import Path

from distributed import Client, LocalCluster

from roi.batch import RECKONED, batch


def alive(process: int) -> bool:
    """Whether there is a process of that number, killed and not yet buried ones included."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return True


def main(folder: Path) -> None:
    """Reckon a folder's scenarios alone, then on two workers of which one is killed."""
    files = sorted(folder.glob("*.toml"))
    alone = list(batch(files))
    assert [o.state for o in alone] == [RECKONED] * len(files), alone
    with (
        LocalCluster(
            n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address="127.0.0.1:0"
        ) as cluster,
        Client(cluster) as client,
    ):
        killed = next(iter(client.run(os.getpid).values()))
        outcomes = batch(files, client.get_executor())
        found = [next(outcomes)]
        os.kill(killed, signal.SIGKILL)
        found += outcomes
        deadline = time.monotonic() + 30
        while alive(killed):
            assert time.monotonic() < deadline, "the worker is still there"
            time.sleep(0.1)
    assert found == alone, "the outcomes differ from those of one process"
    print(f"{len(found)} equal, worker {killed} killed")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
