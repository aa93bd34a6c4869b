"""The program: it reads its arguments, carries out a command, and says in a line what went wrong.

The arguments' parser is imported when there is something to parse: ``--version`` needs none.
"""

import gc
import os
import sys
from collections.abc import Sequence

from trainer import VERSION
from trainer.commands.console import close_streams, complain, open_streams

USAGE, FAILURE = 2, 1
SWEPT = 50_000  # new objects before a garbage collection: a start makes hundreds of thousands, and all stay


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; returns its exit code: 0 done, 2 a usage error, 1 any other failure."""
    open_streams()
    _be_quick()
    try:
        code = _run(argv)
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever read our output has gone; there is nobody to tell, and nothing to flush to.
        code = FAILURE
    except KeyboardInterrupt:
        code = FAILURE
    except Exception as error:
        from trainer.commands.console import TRACEBACK, UsageError, fault_of, message_of

        message = message_of(error)
        if message is None:
            if os.environ.get(TRACEBACK):
                raise
            message = fault_of(error)
        complain(f"trainer: {message}")
        code = USAGE if isinstance(error, UsageError) else FAILURE
    close_streams()
    return code


def _run(argv: Sequence[str] | None) -> int:
    """The command's own exit code; argparse's exits are codes too."""
    given = list(sys.argv[1:] if argv is None else argv)
    if given == ["--version"]:
        print(VERSION)
        return 0
    from trainer.arguments import read

    try:
        args = read(given)
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else FAILURE
    return int(args.run(args))


def _be_quick() -> None:
    """Save time in whatever a command does."""
    gc.set_threshold(SWEPT)
    # Our matrices are small: threads would only wait for one another, most of all on a busy machine.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


if __name__ == "__main__":
    sys.exit(main())
