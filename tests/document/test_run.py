"""Plan and map carry one id, that of the plan's own text; a file that was changed since is told apart."""

import hashlib
import json
import re

import pytest
from outlook_fixture import full_plan
from plan_fixture import make_plan

from diproute.document import plan_text, read_plan, write_plan
from diproute.document.run import is_as_written, sealed
from diproute.errors import PlanError


@pytest.fixture(scope="module")
def plan():
    return full_plan()


def test_the_id_is_the_digest_of_the_file_without_it(plan):
    text = plan_text(plan)
    told = json.loads(text)["run"]
    without = text.replace(f'"run":"{told}",', "").removesuffix("\n")
    assert "run" not in json.loads(without)
    assert told == hashlib.sha256(without.encode()).hexdigest()[:16] == plan.run


def test_the_same_plan_has_the_same_id_and_another_has_another(plan):
    assert full_plan().run == plan.run
    assert sealed(plan) == plan
    assert len({plan.run, make_plan().run, make_plan(display="metric").run, make_plan(usable=False).run}) == 4
    assert sealed(plan.model_copy(update={"title": plan.title + "."})).run != plan.run


def test_read_back_it_has_its_id(plan, tmp_path):
    back = read_plan(write_plan(plan, tmp_path / "plan.json"))
    assert back.run == plan.run
    assert back == plan
    assert is_as_written(back, tmp_path / "plan.json")


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace('"water_kg":', '"water_kg":1', 1),
        lambda text: text.replace('"title":"', '"title":"Old ', 1),
        lambda text: json.dumps(json.loads(text), indent=1),
        lambda text: re.sub('"run":"[0-9a-f]{16}"', '"run":"0123456789abcdef"', text),
        lambda text: text.replace(',"sites":', ',"later":1,"sites":'),
    ],
)  # fmt: skip
def test_a_file_that_was_changed_is_told(change, plan, tmp_path):
    path = write_plan(plan, tmp_path / "plan.json")
    path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")
    assert not is_as_written(read_plan(path), path)


def test_a_file_of_a_release_that_gave_no_id_is_read_and_nothing_is_said(plan, tmp_path):
    path = tmp_path / "plan.json"
    document = json.loads(plan_text(plan))
    del document["run"]
    path.write_text(json.dumps(document), encoding="utf-8")
    back = read_plan(path)
    assert back.run is None
    assert is_as_written(back, path)
    assert sealed(back) == plan


@pytest.mark.parametrize("run", ["", "3F2A91C07B5D8E42", "3f2a91c07b5d8e42\n", "<b>3f2a91c07b5d8", "3f2a", 7])
def test_an_id_that_is_none_is_refused(run, plan, tmp_path):
    path = tmp_path / "plan.json"
    path.write_text(json.dumps({**json.loads(plan_text(plan)), "run": run}), encoding="utf-8")
    with pytest.raises(PlanError, match="run: "):
        read_plan(path)
