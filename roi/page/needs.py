"""The libraries that pages and charts are made with. Nothing else here asks for them, so all else runs without them.

They are an optional part of the package, loaded only when a page or a chart is made.
"""

from __future__ import annotations

from importlib import import_module

from roi.scenario.problems import BadInput, Problem

LIBRARIES = ("matplotlib", "jinja2")


def need_libraries() -> None:
    """Load what pages and charts need. Raises BadInput, which says how to install what is missing."""
    missing = []
    for name in LIBRARIES:
        try:
            import_module(name)
        except ImportError:
            missing.append(name)
    if missing:
        mend = f'pip install {" ".join(missing)}, or in the project\'s folder pip install ".[page]"'
        raise BadInput(
            [Problem("roi brief", f"needs {' and '.join(missing)}, which can't be loaded here", mend)]
        )


__all__ = ["LIBRARIES", "need_libraries"]
