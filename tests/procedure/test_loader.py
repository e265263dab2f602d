from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from hashlib import sha256

import pytest

from app.calculations.quantity import Quantity
from app.procedure.loader import load_procedure
from app.procedure.model import FactTest, Fresh, Procedure, Within
from tests.procedure.texts import HEAD, STEP, line_of, said, the_site

EVERY_KEY = """order = "any"
[[sections.steps]]
id = "read-gust"
kind = "reading"
do = "Read the gust."
reading = "gust"
unit = "m/s"
at_most = 9.0
[[sections.steps]]
id = "take"
kind = "tick"
do = "Take the load."
why = "At most {within.at_most} after the gust was read."
danger = "d"
warning = "w"
caution = "c"
notice = "n"
mirror = "m"
picture = "take.png"
picture_text = "The spider, seen from the side."
critical = true
back_out = "Lower it again."
safe_point = true
sign = ["technician", "supervisor"]
check = "before"
not_same_as = ["read-gust"]
needs = { brackets = 0, cover = "off", place = { not = "road" } }
after = ["read-gust"]
fresh = [{ reading = "gust", at_most = "9.0 m/s", age = "10 min" }]
within = { of = "read-gust", at_most = "60 min", if_missed = "read-gust" }
tool = "lift spider"
present = ["supervisor"]
absent = ["under the load"]
sets = { load_on = "hooks" }
confirms = { brackets = { at_most = 0 } }
photo = 2
"""


def loaded(text: str) -> Procedure:
    procedure, faults = load_procedure(text, "QP-9.toml", the_site())
    assert procedure is not None, said(faults)
    return procedure


def test_every_key_reaches_the_model() -> None:
    step = loaded(HEAD + EVERY_KEY).steps[1]

    assert (step.id, step.number, step.kind, step.section) == ("take", 2, "tick", 0)
    assert step.line == line_of(HEAD + EVERY_KEY, 'id = "take"') - 1
    assert step.why == "At most 60 min after the gust was read."
    assert (step.danger, step.warning, step.caution) == ("d", "w", "c")
    assert (step.notice, step.mirror) == ("n", "m")
    assert (step.picture, step.picture_text) == ("take.png", "The spider, seen from the side.")
    assert (step.critical, step.no_return, step.safe_point) == (True, False, True)
    assert step.back_out == "Lower it again."
    assert (step.seats, step.check) == (("technician", "supervisor"), "before")
    assert (step.not_same_as, step.after) == (("read-gust",), ("read-gust",))
    assert step.needs == (
        FactTest("brackets", "is", 0),
        FactTest("cover", "is", "off"),
        FactTest("place", "not", "road"),
    )
    assert step.fresh == (
        Fresh(
            reading="gust",
            age=timedelta(minutes=10),
            at_most=Quantity(Decimal("9.0"), "m/s"),
        ),
    )
    assert step.within == Within(of="read-gust", at_most=timedelta(hours=1), if_missed="read-gust")
    assert (step.tool, step.photo) == ("lift spider", 2)
    assert (step.present, step.absent) == (("supervisor",), ("under the load",))
    assert step.sets == {"load_on": "hooks"}
    assert step.confirms == (FactTest("brackets", "at_most", 0),)


def test_the_head_reaches_the_model() -> None:
    text = HEAD + STEP

    procedure = loaded(text)

    assert (procedure.id, procedure.revision) == ("QP-9", 1)
    assert procedure.planned == timedelta(hours=1)
    assert procedure.crew == {"technician": 2, "supervisor": 1}
    assert procedure.sections[0].order == "strict"
    assert procedure.steps[0].seats == ("technician",)
    assert procedure.sha256 == sha256(text.encode()).hexdigest()


def test_the_hash_is_that_of_the_exact_bytes() -> None:
    text = (HEAD + STEP).replace("\n", "\r\n").encode()

    procedure, _ = load_procedure(text, "QP-9.toml", the_site())

    assert procedure is not None
    assert procedure.sha256 == sha256(text).hexdigest()


FAULTY = [
    ('kind = "tick"', 'kind = "tock"', 'kind = "tock"', "kind: tock is not a kind of step. Did you mean tick?"),
    ('do = "Look at the mirror."', 'doo = "Look at the mirror."', "doo =", "doo: doo is not a key of this step. Did you mean do?"),
    ('id = "look"', 'id = "Look Here"', "Look Here", 'id: "Look Here" is not a step id. Use small letters, digits and hyphens, as "brackets-gone".'),
    ('asset = "primary"', 'asset = "primry"', "primry", "asset: primry is not an asset of Quillmoor Observatory. Did you mean primary?"),
    ("technician = 2,", "techncian = 2,", "techncian", "crew.techncian: techncian is not a role of Quillmoor Observatory. Did you mean technician?"),
    ("revision = 1", "revision = 0", "revision = 0", "revision: revision is 0. It must be at least 1."),
    ('planned = "1 h"', 'planned = "1 kN"', "1 kN", "planned: 1 kN does not measure what min measures. Give it in min, or in a unit of the same dimension."),
    (STEP, STEP + 'sign = ["supervisr"]', "supervisr", "sign: supervisr is not a role of Quillmoor Observatory. Did you mean supervisor?"),
    (STEP, STEP + 'check = "befor"', "befor", 'check: "befor" is not one of after, before, independent. Did you mean before?'),
    (STEP, STEP + 'after = ["lok"]', "lok", "after: lok is not a step of this procedure. Did you mean look?"),
    (STEP, STEP + 'after = ["look"]', "after =", "after: look comes after this step, so this step can never open. Put the steps in the order of the work."),
    (STEP, STEP + 'not_same_as = ["look"]', "not_same_as", "not_same_as: look is not an earlier step. Name a step that is done before this one."),
    (STEP, STEP + 'within = { of = "look", at_most = "5 min" }', "within", "within.of: look is not an earlier step. Name a step that is done before this one."),
    (STEP, STEP + 'sets = { brackets = 22 }', "sets =", "sets.brackets: brackets cannot be 22. It can be 0 to 21."),
    (STEP, STEP + 'needs = { cover = "ajar" }', "ajar", 'needs.cover: cover cannot be "ajar". It can be off, on.'),
    (STEP, STEP + 'fresh = [{ reading = "gust", at_most = "9 m/s", age = "10 min" }]', "fresh =", 'fresh[0].reading: No step of this procedure reads gust. Add a step with reading = "gust".'),
    (STEP, STEP + STEP.replace("tick", "count") + 'of = "x"\nexpect = 1', "count", "id: look names two steps. Give each step its own id."),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "marker", "sentence"), FAULTY)
def test_a_planted_fault_is_found_at_its_line(
    old: str, new: str, marker: str, sentence: str
) -> None:
    text = (HEAD + STEP).replace(old, new)
    line = text[: text.index(marker)].count("\n") + 1
    line -= 1 if marker == "count" else 0  # the second id stands above its kind

    procedure, faults = load_procedure(text, "QP-9.toml", the_site())

    assert procedure is None
    assert f"QP-9.toml:{line}: {sentence}" in said(faults)


def test_all_faults_of_a_file_come_at_once() -> None:
    text = HEAD.replace("revision = 1", "revision = 0") + STEP.replace("tick", "tock") + "zzz = 1\n"

    _, faults = load_procedure(text.replace('title = "Only', 'tilte = "Only'), "f", the_site())

    assert [(fault.line, fault.key) for fault in faults] == [
        (3, "revision"),
        (10, "title"),
        (11, "tilte"),
        (14, "kind"),
    ]
