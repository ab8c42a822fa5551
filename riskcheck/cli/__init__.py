"""The command line: parse, call, print, exit code. Nothing heavy is imported until it is needed."""

from __future__ import annotations

import os
import sys
import traceback

from riskcheck import errors


def main() -> None:
    """Run the command line and leave with an honest exit code."""
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run one command; every error becomes a message for a person and an exit code."""
    import typer

    from riskcheck.cli.app import app

    try:
        code = app(args=arguments, standalone_mode=False)
    except typer.Exit as leave:
        return leave.exit_code
    except (typer.Abort, KeyboardInterrupt):
        _say("Interrupted; nothing half-written was left behind.")
        return errors.EXIT_INTERRUPTED
    except errors.RiskcheckError as error:
        return _explain(error)
    except BrokenPipeError:
        # The reader of our output (head, less) has gone: stop quietly, as any filter does.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return errors.EXIT_DONE
    except Exception as fault:
        # Typer's own usage errors show themselves; their base class moved between its versions.
        if callable(show := getattr(fault, "show", None)):
            show()
            return errors.EXIT_USAGE
        return _own_fault(fault)
    return code if isinstance(code, int) else errors.EXIT_DONE


def _explain(error: errors.RiskcheckError) -> int:
    if isinstance(error, errors.InternalError):
        return _own_fault(error)
    _say(str(error))
    return error.exit_code


def _own_fault(fault: Exception) -> int:
    """Report where the program broke: places in our own code only, never a value from the input."""
    if os.environ.get("RISKCHECK_DEBUG"):
        traceback.print_exc()
    places = [
        f"  {frame.filename.rpartition('riskcheck')[2].lstrip('/')}:{frame.lineno} {frame.name}"
        for frame in traceback.extract_tb(fault.__traceback__)
        if "riskcheck" in frame.filename
    ]
    told = str(fault) if isinstance(fault, errors.InternalError) else type(fault).__name__
    _say(
        "This is riskcheck's own fault, not your file's; no result was written after this point.\n"
        f"What happened: {told}\n" + "\n".join(places[-4:]) + "\n"
        "This report holds no customer data. Set RISKCHECK_DEBUG=1 to see the full trace."
    )
    return errors.EXIT_INTERNAL


def _say(message: str) -> None:
    sys.stderr.write(message.rstrip() + "\n")
