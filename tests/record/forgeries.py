"""What is told otherwise in a forged run, one thing at a time."""

from __future__ import annotations

from tests.record.forging import Envelope, first


def _without(told: list[Envelope], *gone: Envelope) -> None:
    for each in gone:
        told.remove(each)


def value_into_its_limit(told: list[Envelope]) -> None:
    """B02 was seized; now it says that it came off at once, and still was a trouble."""
    made = first(told, "EntryMade", part="B02")["body"]
    made["values"]["result"] = made["computed"]["result"] = "off"


def limit_passed_over(told: list[Envelope]) -> None:
    made = first(told, "EntryMade", step="hook-load", replaces=0)["body"]
    made["values"]["value"] = made["computed"]["value"] = "39.05"
    made["readings"]["hook-sum"]["value"] = "39.05"
    made["saying"] = made["saying"].replace("36.05", "39.05")


def verdict_made_good(told: list[Envelope]) -> None:
    first(told, "EntryMade", part="B02")["body"]["verdict"] = "good"


def wind_made_calm(told: list[Envelope]) -> None:
    """The wind of the sentence and of the board stays; the value typed is lower."""
    first(told, "EntryMade", step="wind")["body"]["values"]["value"] = "2.2"


def stale_wind(told: list[Envelope]) -> None:
    """The hoisting is put later, so that the wind was too old for it."""
    at = next(i for i, e in enumerate(told) if e["body"].get("step") == "hook-load" and i > 30)
    for each in told[at:]:
        each["at"] = each["at"].replace("T10:", "T12:").replace("T11:", "T13:")


def one_person_counts_twice(told: list[Envelope]) -> None:
    for each in told:
        if each["body"].get("step") == "brackets-gone" and each["by"] == "AN":
            each["by"] = "JB"


def one_count_of_the_first_round_hidden(told: list[Envelope]) -> None:
    made = first(told, "EntryMade", step="brackets-gone", round=1)
    signed = first(told, "SeatSigned", step="brackets-gone")
    _without(told, made, signed)


def count_made_equal(told: list[Envelope]) -> None:
    """The one count that differed is made like the others; the round still ends as differing."""
    made = next(e for e in told if e["body"].get("values") == {"count": "1"})["body"]
    made["values"]["count"] = made["computed"]["count"] = "0"
    made["saying"] = made["saying"].replace("1", "0")


def counts_too_close(told: list[Envelope]) -> None:
    counts = [e for e in told if e["body"].get("step") == "brackets-gone"]
    for each in counts[2:4]:
        each["at"] = counts[0]["at"]


def hold_released_by_a_performer(told: list[Envelope]) -> None:
    for each in told:
        if each["body"].get("step") == "released" and each["by"] == "LK":
            each["by"] = "TW"


def hold_signed_by_a_technician(told: list[Envelope]) -> None:
    for each in told:
        if each["body"].get("step") == "released" and each["by"] == "LK":
            each["by"] = "SH"


def refusal_to_sign_hidden(told: list[Envelope]) -> None:
    _without(told, first(told, "HoldRefused"), first(told, "SignatureVoided", step="released"))


def refusal_without_its_consequence(told: list[Envelope]) -> None:
    _without(told, first(told, "SignatureVoided", step="released"))


def signature_taken_out(told: list[Envelope]) -> None:
    signed = [e for e in told if e["kind"] == "SeatSigned" and e["body"]["step"] == "hook-load"]
    _without(told, signed[-1])


def signature_put_in(told: list[Envelope]) -> None:
    done = first(told, "StepDone", step="wind")
    more = {**first(told, "SeatSigned", step="hook-load"), "key": "key-more", "at": done["at"]}
    told.insert(told.index(done) + 1, more)


def correction_hidden(told: list[Envelope]) -> None:
    """The slip is taken out, and the corrected value told as if it had been typed at once."""
    slip = first(told, "EntryMade", step="hook-load")
    struck = first(told, "EntryStruck", step="hook-load")
    _without(told, slip, struck)
    made = first(told, "EntryMade", step="hook-load")
    made["body"]["replaces"] = slip["seq"]


def reason_of_a_correction_changed(told: list[Envelope]) -> None:
    first(told, "EntryStruck", step="hook-load")["body"]["reason"] = ""


def trouble_hidden(told: list[Envelope]) -> None:
    _without(told, first(told, "TroubleReported"))


def trouble_decided_by_its_reporter(told: list[Envelope]) -> None:
    disposed, struck = (
        first(told, "TroubleDisposed"),
        first(told, "EntryStruck", step="brackets-off"),
    )
    disposed["by"] = struck["by"] = "JB"


def trouble_used_as_it_is(told: list[Envelope]) -> None:
    first(told, "TroubleDisposed")["body"]["disposition"] = "use as is"


def restart_by_one(told: list[Envelope]) -> None:
    signed = [e for e in told if e["kind"] == "RestartSigned"]
    _without(told, signed[0])


def restart_without_looking(told: list[Envelope]) -> None:
    first(told, "RestartSigned")["body"]["confirmed"] = []


def stop_hidden(told: list[Envelope]) -> None:
    _without(told, first(told, "WorkStopped"))


def step_skipped(told: list[Envelope]) -> None:
    """The photo of the edge was never taken."""
    _without(
        told, first(told, "EntryMade", step="edge-seen"), first(told, "StepDone", step="edge-seen")
    )


def steps_in_another_order(told: list[Envelope]) -> None:
    done = first(told, "StepDone", step="edge-seen")
    made = first(told, "EntryMade", step="edge-seen")
    _without(told, done, made)
    at = told.index(first(told, "EntryMade", step="wind"))
    made["at"] = done["at"] = told[at]["at"]
    told[at:at] = [made, done]


def tool_not_in_the_register(told: list[Envelope]) -> None:
    first(told, "EntryMade", part="B03")["body"]["values"]["tool"] = "TW-99"


def tool_out_of_its_calibration(told: list[Envelope]) -> None:
    """The whole run is put a year later, when the wrench was out of calibration."""
    for each in told:
        each["at"] = each["at"].replace("2026-", "2027-")


def someone_not_briefed(told: list[Envelope]) -> None:
    _without(told, first(told, "EntryMade", step="brief", part="SH"))


def a_stranger_enters(told: list[Envelope]) -> None:
    first(told, "EntryMade", step="wind")["by"] = "XX"
    first(told, "StepDone", step="wind")["by"] = "XX"


def opened_by_a_technician(told: list[Envelope]) -> None:
    told[0]["by"] = "JB"


def board_otherwise_at_the_opening(told: list[Envelope]) -> None:
    told[0]["body"]["facts"]["brackets"] = 0


def fact_set_otherwise(told: list[Envelope]) -> None:
    first(told, "StepDone", step="brackets-gone")["body"]["sets"] = {"brackets": 1}


def step_ended_early(told: list[Envelope]) -> None:
    """The second bracket's entry is gone; the step is done all the same."""
    _without(
        told,
        next(
            e
            for e in told
            if e["kind"] == "EntryMade" and e["by"] == "AN" and e["body"]["part"] == "B02"
        ),
    )


def meaning_of_a_signature_changed(told: list[Envelope]) -> None:
    first(told, "SeatSigned", step="released")["body"]["meaning"] = "I was told that it is so."


def secret_not_given(told: list[Envelope]) -> None:
    first(told, "EntryMade", step="brackets-gone")["body"]["signed"] = False


def closing_of_another_act(told: list[Envelope]) -> None:
    told[-1]["body"]["statement"] = "All is well."


def time_of_one_event_of_an_act(told: list[Envelope]) -> None:
    done = first(told, "StepDone", step="wind")
    done["at"] = (
        done["at"].replace(":00.000000Z", ":07.000000Z").replace("20.", "27.").replace("40.", "47.")
    )


def counter_replaced(told: list[Envelope]) -> None:
    """SH, who could have counted, is said to have counted in place of AN."""
    for each in told:
        if each["body"].get("step") == "brackets-gone" and each["by"] == "AN":
            each["by"] = "SH"


def first_round_hidden(told: list[Envelope]) -> None:
    """The round that differed is taken out, and the second one told as the first."""
    at = told.index(first(told, "CountsDiffered"))
    del told[at - 6 : at + 1]
    for each in told:
        if each["body"].get("step") == "brackets-gone" and "round" in each["body"]:
            each["body"]["round"] = 1
