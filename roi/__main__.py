"""The program's start, as `roi` and as `python -m roi`: Ctrl-C before and after a command's work ends it without a traceback."""

from __future__ import annotations

import signal


def run() -> None:
    """Run the command line; ends the process with the command's exit code."""
    usual = signal.getsignal(signal.SIGINT)
    watched = usual is signal.default_int_handler  # not where whoever started this wants Ctrl-C ignored
    if watched:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from roi.cli import main

    try:
        if watched:
            signal.signal(signal.SIGINT, usual)
        main()
    finally:
        if watched:
            signal.signal(signal.SIGINT, signal.SIG_DFL)


if __name__ == "__main__":
    run()
