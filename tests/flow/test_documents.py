"""What the documents promise is what the program has: keys, commands, findings, set-up, the closed top level."""

import argparse
import ast
import json
import re
import runpy
import subprocess
import tomllib
from pathlib import Path

import pytest

import bodygen
from bodygen import tables
from bodygen.cli import parser
from bodygen.recipe.keys import RECIPE, Key
from bodygen.report.properties import as_json

ROOT = Path(__file__).parent.parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
DEMOS = sorted((ROOT / "params").glob("*.toml"))
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "bodygen", "tests", "params", "out"}
CODE = re.compile(r"[a-z]+(?:[-_][a-z]+)*")
HYPHENED = re.compile(r"[a-z]+(?:-[a-z]+)+")
NO_CODES = {
    *("back-up", "belly-up", "left-jaw", "right-jaw", "mid-plane", "line-out", "cadquery-ocp-proxy"),
    *("cut-body", "half-left", "half-right", "carver-master", "router-templates", "template-cards", "vise-rail"),
    *("section-gauges", "small-gauges", "back-height", "batch-sheet"),
    *(
        "accept-encoding",
        "content-encoding",
        "content-disposition",
        "content-length",
        "content-type",
        "sec-fetch-site",
        "same-origin",
    ),
    *("temporary-directory", "no-answer", "worker-died"),
}
"""Words with a hyphen in the code that are no finding's: holders, files, libraries, options, headers, failures."""


def test_nothing_else_shows_at_the_top_level():
    listed = subprocess.run(["git", "-C", ROOT, "ls-files", "-z"], capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    names = {path.split("/")[0] for path in listed.stdout.split("\0") if path}
    assert {name for name in names if not name.startswith(".")} == TOP_LEVEL


def test_the_first_two_sh_blocks_are_the_two_set_up_commands():
    blocks = re.findall(r"^```sh\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
    assert [block.count("\n") for block in blocks[:2]] == [1, 1]
    assert ".venv/bin/bodygen build params/" in blocks[0]
    assert "'.[dev]' && .venv/bin/pytest" in blocks[1]


def test_what_the_readme_says_of_keys_is_what_the_program_has():
    """A block that someone wrote by hand, or a key whose words changed: ``python .ci/reference.py`` writes it anew."""
    reference = runpy.run_path(str(ROOT / ".ci" / "reference.py"))
    assert reference["written"](README) == README
    assert {"findings", "files"} <= set(re.findall(r"<!-- (\w+): begin -->", README))
    blocks = set(re.findall(r"<!-- keys (\w+): begin -->", README))
    assert blocks == {"top", *(key for key, what in RECIPE.items() if what.table)}


def test_the_walk_shows_what_the_commands_print():
    """Word for word: a figure that moved, or a message that reads otherwise, is written by the same script."""
    reference = runpy.run_path(str(ROOT / ".ci" / "reference.py"))
    walk = README.split("## A first walk")[1].split("\n## ")[0]
    assert reference["walked"](walk) == walk
    assert walk.count("\n$ bodygen ") >= 5


def test_every_link_within_the_readme_leads_to_a_heading():
    headings = re.findall(r"^#+ (.*)$", README, re.MULTILINE)
    anchors = {re.sub(r"[^\w -]", "", heading).lower().replace(" ", "-") for heading in headings}
    assert set(re.findall(r"\]\(#([^)]*)\)", README)) <= anchors


def _sections() -> dict[str, str]:
    """Text under each heading of the recipe reference, by the name of the table that it is about."""
    parts = re.split(r"^### (.*)$", README, flags=re.MULTILINE)
    sections = {}
    for heading, text in zip(parts[1::2], parts[2::2], strict=True):
        for table in re.findall(r"`\[+(\w+)\]+`", heading) or ["top"]:
            sections[table] = text
    return sections


def _names(keys: dict[str, Key], prefix: str = "") -> list[str]:
    """Every key of a table as the README writes it: ``fill.metal`` for a table within."""
    return [
        name
        for key, what in keys.items()
        for name in (_names(dict(what.table), f"{prefix}{key}.") if what.kind == "table" else [f"{prefix}{key}"])
    ]


@pytest.mark.parametrize("table", ["top", *[key for key, what in RECIPE.items() if what.table]])
def test_every_key_of_a_recipe_is_in_the_reference(table):
    keys = RECIPE if table == "top" else dict(RECIPE[table].table)
    names = [key for key, what in RECIPE.items() if not what.table] if table == "top" else _names(keys)
    section = _sections()[table]
    missing = [name for name in names if f"`{name}`" not in section and f"`{table}.{name}`" not in section]
    assert missing == []


def test_every_choice_of_a_key_is_in_the_reference():
    def choices(keys):
        for what in keys.values():
            yield from what.choices
            yield from choices(what.table)

    assert [choice for choice in choices(RECIPE) if not re.search(rf"[`\"]{choice}[`\"]", README)] == []


def test_every_outline_family_is_in_the_reference():
    outlines = tables.load("outlines")
    assert [name for name in outlines["outline"] if f"**{name}**" not in README] == []
    assert [name for name in outlines["lip"] if f"`{name}`" not in README] == []


def _commands(command=None, name=""):
    """Every command by its words, those within another too: ``trace`` and ``trace stations``."""
    command = command or parser()
    found = {name: command} if name else {}
    for action in command._actions:
        if isinstance(action, argparse._SubParsersAction):
            for word, within in action.choices.items():
                found |= _commands(within, f"{name} {word}".strip())
    return found


def test_every_command_and_option_is_in_the_reference():
    for name, command in _commands().items():
        assert f"`bodygen {name}" in README
        options = [o for action in command._actions for o in action.option_strings if o.startswith("--")]
        assert [o for o in options if f"`{o}" not in README] == []
    for code in range(4):
        assert f"| {code} | " in README


def test_no_command_or_option_is_promised_that_there_is_not():
    """What stands in code marks or in the examples; the two set-up commands are the shell's."""
    commands = _commands()
    every = [parser(), *commands.values()]
    options = {option for command in every for action in command._actions for option in action.option_strings}
    spans = [*re.findall(r"`([^`\n]+)`", README), *re.findall(r"^\$ (.*)$", README, re.MULTILINE)]
    named = [span for span in spans if not span.startswith((".venv", "source", "python"))]
    assert {word for span in named for word in re.findall(r"(?<![\w-])--[a-z][a-z-]*", span)} - options == set()
    assert {word for span in named for word in re.findall(r"^bodygen ([a-z]+)", span)} - set(commands) == set()


def test_the_readme_speaks_of_the_makers_job_before_the_program():
    first = README.split("\n\n")[1]
    assert first.startswith("You make wooden diving baits")
    assert "bodygen" not in first.split(". ")[0]


def _finding_codes() -> dict[str, str]:
    """Every code that a Finding may carry, with the module it comes from: given outright, or handed to its function."""
    codes = {}
    for path in sorted((ROOT / "bodygen").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
        makers = {"Finding": 0}
        for function in [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]:
            named = [argument.arg for argument in function.args.args]
            for call in [node for node in ast.walk(function) if isinstance(node, ast.Call)]:
                first = _argument(call, 0, "code")
                if _name(call) == "Finding" and isinstance(first, ast.Name) and first.id in named:
                    makers[function.name] = named.index(first.id)
        for call in calls:
            if _name(call) in makers:
                given = _argument(call, makers[_name(call)], "code")
                for node in ast.walk(given) if given is not None else ():
                    if isinstance(node, ast.Constant) and isinstance(node.value, str) and CODE.fullmatch(node.value):
                        codes[node.value] = path.relative_to(ROOT).as_posix()
    return codes


def _name(call: ast.Call) -> str:
    return call.func.id if isinstance(call.func, ast.Name) else ""


def _argument(call: ast.Call, place: int, name: str) -> ast.expr | None:
    if len(call.args) > place:
        return call.args[place]
    return next((word.value for word in call.keywords if word.arg == name), None)


def test_every_finding_is_explained_in_the_readme():
    codes = _finding_codes()
    assert len(codes) > 30
    missing = {code: module for code, module in codes.items() if f"| `{code}` |" not in README}
    assert missing == {}


def test_no_finding_is_explained_that_nothing_reports():
    explained = set(
        re.findall(r"^\| `([a-z]+(?:[-_][a-z]+)*)` \|", README.split("## What the doubts mean")[1], re.MULTILINE)
    )
    assert explained == set(tables.load("findings")["finding"])
    assert explained - {*_finding_codes(), *_hyphened()} == set()


def test_a_word_with_a_hyphen_in_the_code_is_a_finding_of_the_table_or_known_to_be_none():
    """A code that is handed on in a tuple or a table never stands in a call of ``Finding``: this finds it, too."""
    assert _hyphened() - set(tables.load("findings")["finding"]) == NO_CODES


def _hyphened() -> set[str]:
    """Every text with a hyphen between small letters that stands alone in the code."""
    found = set()
    for path in (ROOT / "bodygen").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and HYPHENED.fullmatch(node.value):
                found.add(node.value)
    return found


def test_every_caution_is_in_the_readme_by_its_title():
    assert [c["title"] for c in tables.load("cautions")["caution"].values() if c["title"] not in README] == []


def _keys(value, path, found):
    """Every key of a document by the path of what it stands in; ``[]`` for what is in a list."""
    if isinstance(value, dict):
        found.setdefault(path or ".", {}).update(dict.fromkeys(value))
        for key, entry in value.items():
            _keys(entry, f"{path}.{key}".strip("."), found)
    elif isinstance(value, list):
        for entry in value:
            _keys(entry, f"{path}[]", found)


def _promised():
    """The guide's list of keys, by path."""
    block = re.search(r"^```\n(\. .*?)^```$", GUIDE, re.MULTILINE | re.DOTALL)[1]
    joined = re.sub(r"\n +", " ", block)
    return {path: keys for path, *keys in (line.split() for line in joined.splitlines())}


def test_the_keys_that_the_guide_promises_are_those_of_the_documents():
    """Of the demos together, and one that comes to rest in two ways; the order is promised at the top."""
    found: dict[str, dict[str, None]] = {}
    lines = 'back = "reed", belly = "reed", plan = "reed", squareness = 8'
    log = f"shape = {{ length = 60, depth = 16, thickness = 16, {lines} }}"
    fished = "line = { diameter = 0.3, length_m = 20 }\nretrieve = { speed_m_s = 1 }"  # and no lip: its dive is refused
    rolls = bodygen.parse_recipe(f"format = 1\n{log}\nwood = {{ density_g_cm3 = 0.3 }}\n{fished}\n")
    for recipe in (rolls, *map(bodygen.read_recipe, DEMOS)):
        assessment = bodygen.assess(recipe)
        document = json.loads(as_json(bodygen.properties(assessment, assessment.measured.wood_left.volume)))
        _keys(document, "", found)
        at_top = _promised()["."]
        assert [key for key in at_top if key in document] == [key for key in document if key in at_top]
    assert {path: {*keys} for path, keys in _promised().items()} == {path: {*keys} for path, keys in found.items()}


def test_what_is_promised_outside_is_written_inside():
    """A reference to a contract is to import-linter's; the promises themselves stand in the guide."""
    assert "## What the edges promise" in GUIDE
    for path in [*(ROOT / "bodygen").rglob("*.py"), *(ROOT / "tests").rglob("*.py")]:
        for line in path.read_text(encoding="utf-8").splitlines():
            if path != Path(__file__):
                assert "contract" not in line.casefold(), (path, line)


def test_the_guide_shows_the_rooms_that_the_contract_holds():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    layers = project["tool"]["importlinter"]["contracts"][0]["layers"]
    rooms = {room.strip(" ()") for layer in layers for room in layer.split("|")}
    assert [room for room in rooms if room not in GUIDE] == []
    for path in (ROOT / "bodygen").iterdir():
        if path.suffix == ".py" or (path / "__init__.py").exists():
            assert path.stem in rooms | {"__init__"}


def test_every_step_of_ci_is_in_the_guide():
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    steps = re.search(r"^STEPS=\((.*)\)$", script, re.MULTILINE)[1].split()
    assert [step for step in steps if f"`{step}`" not in GUIDE] == []


def test_what_is_new_begins_with_this_version():
    news = README.split("\n## What is new\n")[1].split("\n## ")[0]
    assert re.findall(r"^\*\*(\S+)\*\*", news, re.MULTILINE)[0] == bodygen.__version__


def test_the_licence_is_one_file_that_comes_with_the_package():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    (file,) = project["project"]["license-files"]
    text = (ROOT / file).read_text(encoding="utf-8")
    assert text.startswith(f"{project['project']['license']} License\n\nCopyright (c) ")
    assert Path(file).name in project["tool"]["setuptools"]["package-data"]["bodygen"]
    assert f"({file})" in README
    assert "Permission is hereby granted" not in README
