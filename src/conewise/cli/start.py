"""Where the program begins: the keyboard may stop it while its parts are loaded, or while code is compiled."""

from __future__ import annotations

import signal
import sys
from _thread import interrupt_main
from threading import Timer
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from types import FrameType

_LATER = 0.05  # after which a stop is tried again [s]
_COMPILER = "llvmlite"  # crashes where one of its callbacks is left by an exception


def main() -> None:
    """Run the command line; a stop by the keyboard is one plain line, whenever it comes."""
    sys.unraisablehook = _within
    if signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:  # as under nohup, where the keyboard is to be ignored
        signal.signal(signal.SIGINT, _stop)
    try:
        from conewise.cli.main import main as command_line

        command_line()
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        sys.exit(130)


def _stop(number: int, frame: FrameType | None) -> None:
    """Stop; a moment later where the compiler is at work."""
    place = frame
    while place is not None:
        if _COMPILER in place.f_code.co_filename:
            Timer(_LATER, interrupt_main).start()
            return
        place = place.f_back
    signal.default_int_handler(number, frame)


def _within(told: sys.UnraisableHookArgs) -> None:
    """A stop that came where nothing can be raised, as in a callback of a library, comes again a moment later."""
    if isinstance(told.exc_value, KeyboardInterrupt):
        Timer(_LATER, interrupt_main).start()
    else:
        sys.__unraisablehook__(told)
