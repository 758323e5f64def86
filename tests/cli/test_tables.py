"""What the terminal prints of a plan: names as they are, nothing wrapped in a pipe, what matters kept when narrow."""

import re
from dataclasses import replace

import pytest
from composed import changed, full, plain, with_sites
from plan_fixture import make_incident

from diproute.cli import console, tables
from diproute.planning.load_here import load_here

NAMES = ("Lake [old]", "Lake [/]", "Lake [bold]x[/bold]", "Lake :fire:", "[link=x]")


def printed(capsys, plan):
    capsys.readouterr()
    tables.ranking_table(plan)
    return capsys.readouterr().out


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_never_read_as_markup(capsys, name):
    plan = full()
    named = with_sites(plan, changed(plan.sites[0], name=name), changed(plan.sites[-1], name=name))
    out = printed(capsys, named)
    row, reasons = (line for line in out.splitlines() if name in line and not line.startswith("Cautions at"))
    assert row.lstrip().startswith("1 ")
    assert reasons.startswith(f"{name}: ")
    assert f"Cautions at {name}" in out


@pytest.mark.parametrize("name", NAMES)
def test_neither_is_the_name_of_a_helicopter(capsys, name):
    incident = make_incident()
    incident = replace(incident, helicopter=replace(incident.helicopter, name=name, source=name))
    tables.load_table(load_here(incident, 1500.0), incident)
    assert f"{name}: {name}" in capsys.readouterr().out


def test_a_pipe_gets_every_line_whole(capsys):
    plan = full()
    long = "x" * 400
    out = printed(capsys, with_sites(plan, changed(plan.sites[0], name=long), plan.sites[-1]))
    assert sum(long in line for line in out.splitlines()) == 2  # its row, and the heading of its cautions
    assert tables.CAUTION in out.splitlines()


def test_the_first_site_s_cautions_are_printed(capsys):
    out = printed(capsys, plain())
    _, _, after = out.partition("Cautions at Caldera lake\n")
    assert after.startswith("depth not known; the bucket needs 5 ft")


def test_the_words_of_the_terminal(capsys):
    out = printed(capsys, full())
    for words in (
        "mean leg NM",
        "approach / departure true",
        "Unsuitable: refused because",
        "stays first in 86 % of the cases",
        "From 12:00 Long reservoir is first instead of Caldera lake",
        "suitable sites",
    ):
        assert words in out
    for word in ("draws", "usable", "hole", "in / out", "not usable"):
        assert not re.search(rf"\b{word}\b", out), word
    assert "No suitable dip site: every one is refused." in printed(capsys, plain(usable=False))


@pytest.fixture
def narrow(monkeypatch):
    """A terminal of some columns."""
    made = console.terminal

    def of(columns):
        def terminal():
            one = made()
            one.width = columns
            return one

        monkeypatch.setattr(tables, "terminal", terminal)

    return of


@pytest.mark.parametrize("columns", [60, 80, 100, 120, 200])
def test_rank_and_name_stay_and_columns_go_by_priority(capsys, narrow, columns):
    narrow(columns)
    plan = plain()
    lines = printed(capsys, plan).splitlines()
    assert all(len(line) <= columns for line in lines)
    heading = next(line for line in lines if line.startswith("#"))
    assert "dip site" in heading
    assert "US gal/h" in heading
    ranked = [line for line in lines if line.startswith(("1 ", "2 ", "3 "))]
    assert [line.split()[0] for line in ranked[:3]] == ["1", "2", "3"]
    table = " ".join("\n".join(lines[: lines.index("")]).split())
    for site, line in zip(plan.sites, ranked, strict=False):
        first, *more = site.name.split(" ")
        assert first in line
        assert all(word in table for word in more)  # a long name goes on below itself
    order = ["score", "mean leg", "loads", "fuel", "cautions", "density alt.", "approach", "cycle", "line", "bucket"]
    kept = [name in heading for name in order]
    assert kept == sorted(kept)  # what is left out comes first in the order
    assert all(kept) == (columns == 200)
    left_out = [line for line in lines if line.startswith("left out for want of room: ")]
    assert bool(left_out) == (not all(kept))
