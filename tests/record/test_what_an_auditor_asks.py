"""What an auditor asks who was not there; each answer is found in the text of a sealed PDF.

Two records: the demo's rehearsal, with its corrections, recount, stop and trouble; and a small errand
with tools given out, a calibrated wrench and a run before it, which the rehearsal does not have.
"""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from app.procedure.loader import load_procedure
from app.record.attached import contents_of, files_of
from app.record.making import make_record
from app.record.sources import Sources, as_json, sources_of
from app.run.commands import Close
from tests.conftest import needs
from tests.record.played import HERE, Played, a_site

if TYPE_CHECKING:
    from pathlib import Path

    from app.record.keys import SiteKeys
    from app.record.pdf import Renderer

BEFORE = {
    "run": "R-0000",
    "revision": 2,
    "closed": "2025-05-20",
    "head": "cd" * 32,
    "values": {"clamp": {"Clamp-torque": "23.4 N*m"}},
}


def text_of(file: Path) -> str:
    """Return the text of a PDF as another program reads it, each run of spaces as one."""
    done = subprocess.run(
        [needs("pdftotext"), "-raw", str(file), "-"],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return re.sub(r"\s+", " ", done.stdout)


@pytest.fixture(scope="module")
def rehearsal(demo_made: Path) -> str:
    return text_of(demo_made / "records" / "R-0001.pdf")


@pytest.fixture(scope="module")
def of_the_rehearsal(demo_made: Path) -> Sources:
    data = (demo_made / "records" / "R-0001.pdf").read_bytes()
    return sources_of(files_of(contents_of(data)).by_name)


@pytest.fixture(scope="module")
def errand(keys: SiteKeys, renderer: Renderer, tmp_path_factory: pytest.TempPathFactory) -> str:
    content = (HERE / "errand.toml").read_bytes()
    procedure, faults = load_procedure(content, "errand.toml", a_site())
    assert procedure is not None, faults
    run = Played(root=keys.fingerprint, procedure=procedure, text=content)
    run.found()
    run.open()
    run.enter("out", "JB", "TW-03", result="out")
    run.enter("out", "JB", "hand lamp", result="out")
    run.enter("clamp", "JB", value="24.1", tool="TW-03")
    run.sign("clamp", "JB", "TW")
    run.enter("in", "JB", "TW-03", result="back")
    run.enter("in", "JB", "hand lamp", result="back")
    run.ask(Close(by="TW", signed=True, seen=run.state.seq))
    sources = replace(run.sources(), previous=as_json(BEFORE), photos={})
    file = tmp_path_factory.mktemp("errand") / "record.pdf"
    file.write_bytes(make_record(sources, keys, renderer=renderer))
    return text_of(file)


def of_four(digest: str) -> str:
    return " ".join(re.findall("....", digest))


def test_1_which_text_was_followed_and_who_released_it(
    rehearsal: str, of_the_rehearsal: Sources
) -> None:
    assert "QP-4 revision 3" in rehearsal
    assert "Reviewed by Tomasz Wierzbin (TW), released by Nkechi Adeyaro (NA) on " in rehearsal
    assert of_four(of_the_rehearsal.released.sha256) in rehearsal


def test_2_who_was_there_in_which_role_and_briefed_when(rehearsal: str) -> None:
    row = re.search(
        r"JB Joaquin Belmarez technician since \d+ \w+ \d{4} [\d:]{8}, entered by NA [\d:]{8} \d+ \d+",
        rehearsal,
    )
    assert row is not None


def test_3_every_act_in_its_order_on_one_clock_and_the_gaps(
    rehearsal: str, of_the_rehearsal: Sources
) -> None:
    assert "Times are local to the site, UTC−02:00, by the server's clock." in rehearsal
    listed = rehearsal[rehearsal.index("Every act, in its order") :]
    places = [
        re.search(rf" {number} [\d:]{{8}} ", listed)
        for number in range(1, of_the_rehearsal.state.seq + 1)
    ]
    assert all(places), "an act is not listed"
    assert "Questions that the times and values raise" in rehearsal


def test_4_who_did_a_critical_step_who_checked_and_how_independent(rehearsal: str) -> None:
    table = rehearsal[rehearsal.index("Critical steps: who did, who checked") :]
    assert "3 people, each blind to the others." in table
    assert "3 people agreed before the act." in table
    assert "3 people; whoever released had entered nothing since the last hold." in table


def test_5_every_raw_reading_with_the_rejected_and_the_recounted(rehearsal: str) -> None:
    assert "Round 1, which differed" in rehearsal
    assert re.search(r"The entries were not all equal: JB 0, AN 0, ET 1\.", rehearsal)
    assert re.search(r"Struck [\d:]{8} by \w+\. Reason: ", rehearsal)


def test_6_the_limits_in_force(rehearsal: str) -> None:
    assert "18 to 22 °C" in rehearsal or "18 to 22 degC" in rehearsal
    assert "In force: needed: brackets 0, laterals detached, cover off" in rehearsal


def test_7_the_instruments_and_their_calibration(errand: str) -> None:
    table = errand[errand.index("Tools and instruments") :]
    assert "TW-03 torque wrench 10 to 100 N*m 2026-01-10 to 2026-12-01 2" in table


def test_8_deviations_stops_and_restarts_with_who_approved(rehearsal: str) -> None:
    assert "Work stopped. Something fell on the cell, near B09." in rehearsal
    assert "Work restarted. A torch had slipped from a pocket." in rehearsal
    assert "repair, by Tomasz Wierzbin (TW), " in rehearsal


def test_9_corrections_with_the_original(rehearsal: str) -> None:
    told = re.search(r"Was L07: [^.]+\.\d [^.]*\. Now L07: 2\.1 mm\.", rehearsal) or re.search(
        r"Was .{1,60}? Now .{1,60}? Reason: Read at the gauge of L08 by mistake\.", rehearsal
    )
    assert told is not None


def test_10_photos_bound_to_their_steps(rehearsal: str, of_the_rehearsal: Sources) -> None:
    assert len(of_the_rehearsal.photos) > 20
    bare = rehearsal.replace(" ", "")
    for sha256 in of_the_rehearsal.photos:
        assert f"Photo,SHA-256{sha256}" in bare


def test_11_what_was_given_out_and_came_back(errand: str) -> None:
    table = errand[errand.index("Taken out and brought back") :]
    assert re.search(r"hand lamp 1 to JB, JB [\d:]{8}, step 1 back, JB [\d:]{8}", table)


def test_12_how_to_see_that_nothing_changed_since(
    rehearsal: str, of_the_rehearsal: Sources
) -> None:
    assert of_four(of_the_rehearsal.events[-1].hash) in rehearsal
    assert "How to verify this file" in rehearsal
    assert "mirrorwright verify FILE --root FINGERPRINT" in rehearsal
    assert "All times are the recorder's own clock. No independent party" in rehearsal
    noted = [e for e in of_the_rehearsal.site_events if e.kind == "HeadNoted"]
    assert noted
    for each in noted:
        assert f"the run had come to event {each.body['seq']}, head {each.body['hash'][:16]}…" in (
            rehearsal
        )


def test_13_what_was_left_open(rehearsal: str) -> None:
    assert "Troubles left open: none." in rehearsal
    assert "The board was left at: " in rehearsal
    assert "load on: hooks" in rehearsal


def test_14_this_campaign_beside_the_last(errand: str, rehearsal: str) -> None:
    assert "Beside record R-0000, revision 2 (the same revision), closed 2025-05-20" in errand
    assert "Step 2 Clamp-torque 23.4 N*m 24.1 N*m +0.7 N*m" in errand
    assert "No earlier record of this procedure was closed at this site before this run." in (
        rehearsal
    )
