"""Reckoning that ends its own process at one scenario, as want of memory would. Processes import it by its name."""

import os
import signal

import roi.batch

DEADLY = "shop_1.toml"


def reckon(file):
    """`roi.batch.reckon`, except at the deadly scenario."""
    if os.path.basename(file) == DEADLY:
        os.kill(os.getpid(), signal.SIGKILL)
    return roi.batch.reckon(file)
