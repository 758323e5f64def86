"""What the documents print is so: commands run and give that output, code runs, options and files exist."""

import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path
from typing import get_args

import click
import pytest

from diproute.cli import cli
from diproute.document.asked import Limits
from diproute.document.fields import Part
from diproute.document.file import read_plan
from diproute.document.findings import Finding
from diproute.document.geometry import Geometry
from diproute.document.plan import Plan
from diproute.errors import PlanError

ROOT = Path(__file__).parent.parent
PAGES = sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/*.md"), ROOT / "sample_geo" / "README.md"])
FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
RUN = "import sys; from diproute.cli import main; main(sys.argv[1:])"


def fences(page):
    """Language and text of each fenced block."""
    return FENCE.findall(page.read_text(encoding="utf-8"))


def commands(text):
    """The `diproute` commands of a block, whatever stands before them on the line, as words without the name."""
    joined = text.replace("\\\n", " ")
    lines = (re.search(r"(?:^|\s)(diproute\s.*)$", line) for line in joined.splitlines())
    return [shlex.split(found[1], comments=True)[1:] for found in lines if found]


def printed_commands(page):
    """Every command on a page, in a block of shell lines or between backticks."""
    text = page.read_text(encoding="utf-8")
    blocks = [words for language, block in fences(page) if language in ("sh", "") for words in commands(block)]
    inline = [
        shlex.split(found.replace("…", ""))[1:] for found in re.findall(r"`(diproute [^`\n]+)`", FENCE.sub("", text))
    ]
    spoken = [words for words in [*blocks, *inline] if words]  # without any, `diproute …` stands for every command
    verbs = set(cli.commands)
    return [words for words in spoken if words[0] in verbs or words[0].startswith("-")], [
        words for words in inline if words and words[0] not in verbs and not words[0].startswith("-")
    ]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_printed_commands_are_understood(page):
    """The words are read as they would be, up to the point where the work begins."""
    known, unknown = printed_commands(page)
    assert not unknown
    for words in known:
        if words[0].startswith("-"):
            with pytest.raises(click.exceptions.Exit):
                cli.make_context("diproute", list(words))
        else:
            command, words = cli.commands[words[0]], words[1:]
            while isinstance(command, click.Group) and words:
                command, words = command.commands[words[0]], words[1:]
            try:
                command.make_context(command.name, list(words))
            except click.exceptions.Exit:  # --help
                assert "--help" in words
            except (click.MissingParameter, click.exceptions.NoArgsIsHelpError):  # a verb spoken of in the text
                assert words == []


def test_every_verb_has_its_place_in_the_documents():
    spoken = {words[0] for page in PAGES for words in printed_commands(page)[0]}
    assert set(cli.commands) <= spoken


@pytest.fixture(scope="module")
def workplace(tmp_path_factory):
    """A folder that looks to the commands like the top of the repository."""
    place = tmp_path_factory.mktemp("top")
    (place / "sample_geo").symlink_to(ROOT / "sample_geo")
    (place / "docs").symlink_to(ROOT / "docs")
    return place


def run(words, place):
    return subprocess.run(
        [sys.executable, *words], capture_output=True, text=True, cwd=place, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


def stands_in(printed, output):
    """Tell whether a printed block is the output, but for what lines of three dots leave out."""
    lines = [line.rstrip() for line in output.strip().splitlines()]
    parts = re.split(r"^\s*(?:…|\.\.\.)\s*$", printed.strip("\n"), flags=re.MULTILINE)
    pieces = [[line.rstrip() for line in part.strip("\n").splitlines()] for part in parts]
    if len(pieces) == 1:
        return pieces[0] == lines
    at = 0
    for piece in pieces:
        starts = [i for i in range(at, len(lines) - len(piece) + 1) if lines[i : i + len(piece)] == piece]
        if not starts:
            return False
        at = starts[0] + len(piece)
    return True


@pytest.mark.slow
def test_front_page_s_commands_run_and_print_what_stands_below_them(workplace):
    waiting, ran = None, 0
    for language, block in fences(ROOT / "README.md"):
        if language == "sh":
            for words in commands(block):
                done = run(["-c", RUN, *words], workplace)
                assert done.returncode == 0, done.stderr
                waiting, ran = done.stdout, ran + 1
        elif language == "" and waiting is not None:
            assert stands_in(block, waiting), waiting
            waiting = None
    assert ran >= 1
    assert (workplace / "out" / "map.html").is_file()


@pytest.mark.slow
def test_front_page_s_code_runs(workplace):
    (code,) = (block for language, block in fences(ROOT / "README.md") if language == "python")
    done = run(["-c", code], workplace)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()
    assert (workplace / "map.html").is_file()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page):
    text = FENCE.sub("", page.read_text(encoding="utf-8"))
    for target in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", text):
        if not re.match(r"[a-z]+:", target):
            assert (page.parent / target).exists(), target
    headings = {
        re.sub(r"[^\w\- ]", "", line.lstrip("# ")).strip().lower().replace(" ", "-")
        for line in text.splitlines()
        if line.startswith("#")
    }
    for anchor in re.findall(r"\]\(#([^)]+)\)", text):
        assert anchor in headings


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_pages_name_no_machine(page):
    assert not re.search(r"/(?:home|root|work|tmp)/", page.read_text(encoding="utf-8"))


def models_in(kind):
    """The models of the plan that a type speaks of."""
    if isinstance(kind, type):
        return [kind] if issubclass(kind, Part) else []
    return [found for inner in get_args(kind) for found in models_in(inner)]


def keys_of(part, seen):
    """Every key of a model of the plan, and of the models in it."""
    for name, field in part.model_fields.items():
        seen.add(name)
        for inner in models_in(field.annotation):
            if inner is not part:
                keys_of(inner, seen)
    return seen


@pytest.fixture(scope="module")
def plan_page():
    """What the page of the files says of the plan file."""
    return (ROOT / "docs" / "formats.md").read_text(encoding="utf-8").partition("## What comes out")[2]


def test_the_page_of_the_plan_file_names_every_key_and_no_other(plan_page):
    named = set(re.findall(r"`([a-z_0-9]+)`", FENCE.sub("", plan_page)))
    keys = keys_of(Plan, set())
    elsewhere = set(Limits.model_fields) | set(Geometry.model_fields)  # docs/limits.md; GeoJSON's own
    assert keys - named <= elsewhere
    pieces = {"lift", "corridor", "arc", "straight", "orbits", "lower"}
    assert named - keys == {"null", "read_plan", "up", "down", "dip", "flight", "light"} | pieces


def test_the_page_of_the_plan_file_shows_a_finding_and_a_refusal_as_they_are(plan_page, tmp_path):
    (shown,) = (block for language, block in FENCE.findall(plan_page) if language == "json")
    (refusal,) = (block for language, block in FENCE.findall(plan_page) if language == "")
    assert Finding(**json.loads(shown) | {"because": ""}).model_dump() == json.loads(shown)
    old = tmp_path / "plan.json"
    old.write_text(json.dumps({"format": "diproute-plan/1"}), encoding="utf-8")
    with pytest.raises(PlanError) as refused:
        read_plan(old)
    assert str(refused.value) == f"{old.parent}/{refusal.strip()}"


# words that pages no longer use, and what they say instead
GONE = {
    r"\bdoubts?\b": "uncertainty",
    r"\b(?:the|of|in) draws?\b": "cases",
    r"\barrivals?\b": "approach",
    r"\bin the hole\b": "at the dip site, over the dip",
    r"\bfill settings?\b": "bucket setting",
    r"\busable (?:dip )?(?:site|point)s?\b": "suitable",
}


@pytest.mark.parametrize("page", [page for page in PAGES if page.name != "CHANGELOG.md"], ids=lambda page: page.name)
def test_pages_keep_to_the_glossary(page):
    """Keys and what stands in blocks apart."""
    text = re.sub(r"`[^`]*`", "", FENCE.sub("", page.read_text(encoding="utf-8")))
    for word, instead in GONE.items():
        assert not (found := re.findall(rf".*{word}.*", text)), f"say {instead}: {found}"
