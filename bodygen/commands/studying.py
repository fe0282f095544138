"""What the command that works out a study does: through the door, and print. Nothing is computed here."""

# ruff: noqa: PLC0415  (what a command needs it loads itself)

import sys
from argparse import Namespace
from typing import TYPE_CHECKING

import bodygen
from bodygen.commands.copying import DONE
from bodygen.console.terminal import show, show_json, tell

if TYPE_CHECKING:
    from bodygen.study.door import Studied

FAULT = 3
_KEPT = "the rows so far are kept: the same command with --resume goes on from them"


def study(options: Namespace) -> int:
    """Work out a study's table, or write the recipe of one of its rows."""
    from bodygen.report.properties import as_json
    from bodygen.study.door import StoppedError
    from bodygen.study.engine.hands import LostError

    if options.take is not None:
        made = bodygen.take_row(options.study, options.take, out=options.out, allow_outside=options.allow_outside)
        show_json(as_json({"recipe": str(made)})) if options.json else show(str(made))
        return DONE
    if options.readings is not None:
        from bodygen.study.batch.run import returned_document, returned_text

        back = bodygen.take_readings(options.study, options.readings, allow_outside=options.allow_outside)
        show_json(as_json(returned_document(back))) if options.json else show(returned_text(back))
        return DONE
    try:
        found = _worked_out(options)
    except KeyboardInterrupt:
        tell(f"stopped; {_KEPT}")
        return FAULT
    except LostError as error:
        tell(f"{error}; {_KEPT}")
        return error.exit_code
    except StoppedError as error:
        tell(f"{error}; {_KEPT}, once it can be written")
        return error.exit_code
    if options.json:
        show_json(as_json(found.document))
    else:
        show(found.says)
        if "rows" in found.document:
            show("\n".join(str(found.folder / name) for name in ("report.html", "table.csv", "table.parquet")))
    return DONE


def _worked_out(options: Namespace) -> "Studied":
    """Run the study as the options say."""
    return bodygen.run_study(
        options.study,
        options.out,
        workers=options.workers,
        scheduler=options.scheduler,
        resume=options.resume,
        replace=options.replace,
        allow_outside=options.allow_outside,
        say=_say,
    )


def _say(text: str) -> None:
    """Progress, on a terminal only."""
    if sys.stderr.isatty():
        tell(f"  {text}")
