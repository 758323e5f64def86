"""The maker of mistakes, and that its table names what there is."""

import ast
from pathlib import Path

import pytest
from mutant_table import HARMLESS, TARGETS
from mutation import mutants

HOME = Path(__file__).parent.parent


def changes(body, name="f"):
    return {(m.before, m.after) for m in mutants(f"def f(a, b, gust_m_s):\n    {body}\n", (name,))}


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        ("return a < b", {("a < b", "(a <= b)"), ("a < b", "(a >= b)")}),
        ("return a + b", {("a + b", "(a - b)"), ("a + b", "(a)"), ("a + b", "(b)")}),
        ("return a - b", {("a - b", "(a + b)"), ("a - b", "(a)")}),
        ("return min(a, b)", {("min(a, b)", f"({after})") for after in ("max(a, b)", "b", "a")}),
        ("return a.any()", {("a.any()", "(a.all())")}),
        ("return a and b", {("a and b", f"({after})") for after in ("a or b", "b", "a")}),
        ("return a if True else b",
         {("a if True else b", "(a)"), ("a if True else b", "(b)"), ("True", "(False)")}),
        ("return not a", {("not a", "(a)")}),
        ("return -a", {("-a", "(a)")}),
        ("return 3", {("3", "(4)")}),
        ("a += b", {("a += b", "a -= b"), ("a += b", "pass")}),
        ("return float('nan')", {("float('nan')", "(0.0)")}),
        ("return a.nan", {("a.nan", "(0.0)")}),
        ("return a(b, gust=gust_m_s)", {("a(b, gust=gust_m_s)", "(a(b))"), ("gust_m_s", "(0.0)")}),
        ("return a(b, strict=True)", {("True", "(False)")}),
        ("if a: return b", {("a", "(not a)")}),
    ],
)  # fmt: skip
def test_every_kind_of_mistake(body, wanted):
    assert changes(body) == wanted


@pytest.mark.parametrize(
    "body",
    ['"""Say 1 < 2."""', 'raise ValueError(f"{a + 1}", 3)', "assert a < b", 'return f"{a + b}"', 'return "a" % b'],
)
def test_words_are_left_alone(body):
    assert not changes(body)


def test_signatures_are_code_but_for_their_types():
    made = mutants("def f(a: 'b < c' = 1) -> 'd < e':\n    return a\n")
    assert [(m.before, m.after) for m in made] == [("1", "(2)")]


def test_each_mutant_is_one_edit_of_sound_code():
    source = (HOME / "diproute" / "physics" / "wind.py").read_text(encoding="utf-8")
    made = mutants(source)
    assert len({mutant.source for mutant in made}) == len(made) > 50
    for mutant in made:
        ast.parse(mutant.source)
        assert mutant.source.splitlines()[: mutant.line - 1] == source.splitlines()[: mutant.line - 1]


def test_letters_of_two_bytes_do_not_shift_the_edit():
    (mutant,) = mutants("def f(a):\n    return g('°', not a)\n")
    assert mutant.reads == "return g('°', (a))"
    assert mutant.source == "def f(a):\n    return g('°', (a))\n"


def test_methods_are_named_with_their_class():
    source = "class C:\n    def m(self):\n        return 1\n\ndef f():\n    return 2\n"
    assert [m.function for m in mutants(source, ("C.m",))] == ["C.m"]
    assert [m.function for m in mutants(source)] == ["C.m", "f"]
    with pytest.raises(KeyError, match=r"no function g; there are C\.m, f"):
        mutants(source, ("g",))


@pytest.mark.parametrize("target", TARGETS, ids=lambda target: target.module)
def test_the_table_names_what_there_is(target):
    made = mutants((HOME / target.module).read_text(encoding="utf-8"), target.functions)
    assert made
    for test in target.tests:
        assert (HOME / test).exists(), test
    there = {mutant.reads for mutant in made}
    for line, why in HARMLESS.get(target.module, {}).items():
        assert line in there
        assert why
