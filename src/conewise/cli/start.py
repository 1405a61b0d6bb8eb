"""Where the program begins: the keyboard may stop it while its parts are loaded, or while code is compiled."""

from __future__ import annotations

import sys
from _thread import interrupt_main
from threading import Timer

_LATER = 0.05  # after which a stop is tried again [s]


def main() -> None:
    """Run the command line; a stop by the keyboard is one plain line, whenever it comes."""
    sys.unraisablehook = _within
    try:
        from conewise.cli.main import main as command_line

        command_line()
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        sys.exit(130)


def _within(told: sys.UnraisableHookArgs) -> None:
    """A stop that came where nothing can be raised, as in a callback of the compiler, comes again a moment later."""
    if isinstance(told.exc_value, KeyboardInterrupt):
        Timer(_LATER, interrupt_main).start()
    else:
        sys.__unraisablehook__(told)
