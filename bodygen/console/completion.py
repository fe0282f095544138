"""What a shell offers when a maker presses Tab: commands, options, files, and the words that only the program knows.

The script asks the program for those words (``bodygen completion bash --words metals``), so they are never out of date.
Knows the shells' ways. The commands and options are ``cli.py``'s.
"""

import argparse
from pathlib import Path
from typing import Literal

Asked = Literal["kinds", "metals", "boards", "topics"]
ASKED: tuple[Asked, ...] = ("kinds", "metals", "boards", "topics")
Offered = Literal["files", "folders", "kinds", "metals", "boards", "topics"]

_BASH = """\
_bodygen_words() {  # $1: which words, $2: what is typed so far; kinds of files may be a list with commas
  local before="" now="$2" word recipe=()
  [[ $1 == kinds && $2 == *,* ]] && { before="${2%,*},"; now="${2##*,}"; }
  for word in "${COMP_WORDS[@]}"; do [[ $word == *.toml ]] && recipe=(--beside "$word"); done
  while IFS= read -r word; do
    [[ $word == "$now"* ]] && printf '%s%q\\n' "$before" "$word"
  done < <(bodygen completion bash --words "$1" "${recipe[@]}" 2>/dev/null)
}
_bodygen_kinds() { _bodygen_words kinds "$1"; }
_bodygen_metals() { _bodygen_words metals "$1"; }
_bodygen_boards() { _bodygen_words boards "$1"; }
_bodygen_topics() { _bodygen_words topics "$1"; }
"""
_ZSH = """\
_bodygen_words() {
  local -a found beside
  local word
  for word in $words; do [[ $word == *.toml ]] && beside=(--beside $word); done
  found=(${(f)"$(bodygen completion zsh --words $1 $beside 2>/dev/null)"})
  if [[ $1 == kinds ]]; then _values -s , kind $found; else compadd -a found; fi
}
_bodygen_kinds() { _bodygen_words kinds }
_bodygen_metals() { _bodygen_words metals }
_bodygen_boards() { _bodygen_words boards }
_bodygen_topics() { _bodygen_words topics }
"""


def offer(what: Offered) -> dict[str, object]:
    """How an argument is completed in each shell, as ``shtab`` takes it."""
    if what == "files":
        return {"bash": "_shtab_compgen_files", "zsh": "_files", "tcsh": "f"}
    if what == "folders":
        return {"bash": "_shtab_compgen_dirs", "zsh": "_files -/", "tcsh": "d"}
    return {
        "bash": f"_bodygen_{what}",
        "zsh": f"_bodygen_{what}",
        "tcsh": f"`bodygen completion tcsh --words {what}`",
        "preamble": {"bash": _BASH, "zsh": _ZSH},
    }


def completes(argument: argparse.Action, how: Offered) -> None:
    """Say what a shell offers for an argument: files, folders, or words that the program itself lists."""
    argument.complete = offer(how)  # type: ignore[attr-defined]  # where shtab looks for it


def script(parser: argparse.ArgumentParser, shell: str) -> str:
    """Write the completion script of a shell: bash, zsh or tcsh."""
    import shtab  # noqa: PLC0415  only this command needs it

    return str(shtab.complete(parser, shell=shell))


def words_for(asked: Asked, recipe: Path | None = None) -> list[str]:
    """List kinds of files, metals, words to explain, or the boards in the log beside ``recipe`` or in this folder.

    A log that cannot be read offers nothing: Tab is no place for a complaint.
    """
    if asked == "kinds":
        from bodygen.files.kinds import GROUPS, KINDS  # noqa: PLC0415

        return [*GROUPS, *(kind.name for kind in KINDS)]
    if asked == "metals":
        from bodygen.tables import load  # noqa: PLC0415

        return list(load("metals")["metal"])
    if asked == "topics":
        from bodygen.explain.answers import words  # noqa: PLC0415

        return words()
    from bodygen.errors import BodygenError  # noqa: PLC0415
    from bodygen.log.store import log_beside, read  # noqa: PLC0415

    try:
        builds, _ = read(log_beside(recipe or Path("here.toml")))
    except (BodygenError, OSError):
        return []
    return list(dict.fromkeys(build.board for build in reversed(builds) if build.board))
