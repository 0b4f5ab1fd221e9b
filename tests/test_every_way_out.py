"""Whatever case is answered leaves by every way: page, files to take away, parts of the paper."""

import copy
import itertools
import json
from pathlib import Path

import numpy as np
import pytest
from test_compare_random import drawn

from api import service
from api.problems import Problem
from lcc import tables
from lcc.errors import CaseError
from web import answer, downloads
from web.proposal import document as printed

SCHOOL = json.loads((Path(__file__).parent / "surveyed_school.json").read_text(encoding="utf-8"))
PAYING = (
    {"financing": {"how": "loan", "rate": 0.07, "years": 12}},
    {"financing": {"how": "lease", "escalation": 0.02}},
    {"tax": {"rate": 0.27}},
    {"tax": {"rate": 0.27, "expensing": "all", "membrane_as_repair": True}},
    {"financing": {"how": "loan"}, "tax": {"rate": 0.3, "month": 6}},
    {"rate_kind": "nominal", "inflation": 0.02},
    {"study_period": 1},
)


def leaves(document, system=None):
    """Take a case out by every way; its paper typeset whole."""
    if system:
        document = {**service.case_document(service.load_case(document).case, system)}
    found = answer.answer(document, lambda work, *given: work(*given), drawn=True)
    assert found.headline
    assert found.tables["why"]
    assert downloads.csv(found).count(b"\n") > 50
    assert downloads.xlsx(found)[:2] == b"PK"
    loaded = service.load_case(document)
    paper = printed.proposal_pdf(loaded.case, loaded.units, tuple(printed.PARTS), "by-units")
    assert paper[:5] == b"%PDF-"


@pytest.mark.parametrize(
    ("paying", "system"),
    [pytest.param(one, system, marks=[pytest.mark.thorough] * (place % 4 > 0))
     for place, (one, system) in enumerate(itertools.product(PAYING, ("ip", "si")))],
)  # fmt: skip
def test_the_demo_leaves_however_it_is_paid(paying, system):
    made = copy.deepcopy(tables.read_json("demo/case.json"))
    made["economics"] |= paying
    leaves(made, system)


@pytest.mark.thorough
@pytest.mark.parametrize("paying", PAYING)
def test_a_surveyed_school_leaves_however_it_is_paid(paying):
    made = copy.deepcopy(tables.read_json("demo/case.json"))
    made["roof"] |= {"area": 12600, "coverings": 2}
    made["alternatives"][0]["framing"] = SCHOOL
    made["economics"] |= paying
    leaves(made)


@pytest.mark.thorough
@pytest.mark.parametrize("seed", range(4))
def test_every_random_case_that_is_answered_leaves(seed):
    rng = np.random.default_rng(1000 + seed)
    left = 0
    while left < 4:  # of four or five drawn, one is answered and the others refused by field
        try:
            document = service.case_document(drawn(rng), ("ip", "si")[seed % 2])
            service.comparison_reply(service.load_case(document).case, "ip", explore=False)
        except (CaseError, Problem):
            continue
        leaves(document)
        left += 1
