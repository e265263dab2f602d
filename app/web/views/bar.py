"""The bar: the one act of the page, or why it is off, said on its face."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from app.procedure.kind import Card
from app.run.entering import may_be_read_again
from app.run.refusal import Refusal
from app.run.scene import needs_signatures
from app.run.seats import free_seats, may_enter
from app.web.views import ways
from app.web.views.look import Look, next_step
from app.web.views.seats import Chooser, Signing, may_seal, may_sign, waits_for

HOLD_TO_RECORD, HOLD_TO_SIGN = 700, 1200
Mode = Literal["read", "enter", "seal", "sign", "wait", "done"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """What the bar does. With `href` it leads on; else it sends the form named by `form`."""

    mode: Mode
    words: str
    how: str
    off: bool = False
    href: str = ""
    form: str = ""
    send: str = ""
    hold: int = HOLD_TO_RECORD
    signing: Signing | None = None
    sealing: Chooser | None = None
    shut: tuple[Refusal, ...] = ()


def bar(look: Look, card: Card, *, asked: bool) -> Bar:
    """Return the bar of a step.

    Args:
        look: the step, the people, the clock.
        card: what its kind says.
        asked: whether a part was asked for by name.
    """
    run = look.state.run
    if look.state.stop is not None:
        how = "Off: work is stopped. Two people restart it"
        return Bar(mode="read", words="Work is stopped", how=how, href=ways.stopped(run))
    if look.state.status == "suspended":
        how = "Confirm the last state by looking, then resume"
        return Bar(mode="read", words="Resume work", how=how, href=ways.resume(run))
    again = may_be_read_again(look.scene, look.step)
    if look.progress.done and not again and not (asked and look.kind.presence):
        return _done(look)
    shut = look.shut(act=_acts(look))
    if shut:
        return Bar(mode="read", words=card.act, how=f"Off: {shut[0].sentence}", off=True, shut=shut)
    if again or _to_enter(look, asked=asked):
        return _enter(look, card)
    return _sign(look)


def _done(look: Look) -> Bar:
    run, after = look.state.run, next_step(look.procedure, look.state)
    if look.state.status == "closed":
        return Bar(mode="done", words="Today", how="This run is closed", href="/")
    if look.state.progress(after.id).settled:
        how = "Every step is done"
        return Bar(mode="done", words="Close the run", how=how, href=ways.close(run))
    words = f"Go on to step {after.number}"
    return Bar(mode="done", words=words, how=after.do, href=ways.run_page(run))


def _acts(look: Look) -> bool:
    """Say whether what comes next is the act, not a signature that looks at it afterwards."""
    return _to_enter(look, asked=False) or look.step.check == "before" or look.kind.is_hold


def _to_enter(look: Look, *, asked: bool) -> bool:
    step, live = look.step, look.progress.live()
    if look.kind.is_hold:
        return False
    if look.kind.presence and asked:
        return True
    if step.check == "before":
        return not free_seats(look.scene, step)
    if step.check == "independent":
        if look.sealed(look.entering):
            return False
        live = tuple(e for e in live if e.by == look.entering)
    return not look.scene.outcome(step, live).complete


def seals(look: Look) -> bool:
    """Say whether an entry on this step is itself a signature."""
    if look.kind.presence:
        return True
    one = tuple(look.kind.parts(look.step, look.at)) == ("",)
    return look.step.check == "independent" and not look.kind.is_hold and one


def _enter(look: Look, card: Card) -> Bar:
    send = ways.enter(look.state.run, look.step.id)
    if card.off:
        return Bar(mode="enter", words=card.act, how=f"Off: {card.off}", off=True)
    if seals(look):
        chooser = may_seal(look)
        off = not chooser.people
        how = "Off: nobody is left who may" if off else "Press and hold. Each with their own secret"
        return Bar(
            mode="seal",
            words=card.act,
            how=how,
            off=off,
            form="entry",
            send=send,
            hold=HOLD_TO_SIGN,
            sealing=chooser,
        )
    refusal = may_enter(look.scene, look.step, look.entering)
    if refusal is not None:
        return Bar(mode="enter", words=card.act, how=f"Off: {refusal.sentence}", off=True)
    how = "Press and hold until the bar fills"
    if look.progress.done and not look.kind.presence:
        how = "Done. A later step wants it fresh: read it again here"
    return Bar(mode="enter", words=card.act, how=how, form="entry", send=send)


def _sign(look: Look) -> Bar:
    run, step = look.state.run, look.step
    if look.sealed(look.entering) and step.check == "independent":
        how = f"Off: {look.entering} has sealed. Hand the tablet to the next person"
        return Bar(mode="wait", words=f"Waits for {waits_for(look)}", how=how, off=True)
    if not needs_signatures(step):
        return Bar(mode="wait", words="Nothing to do", how="Off: every entry is made", off=True)
    signing = may_sign(look)
    if signing is None and look.kind.is_hold:
        words = f"Countersign step {step.number}"
        how = f"Waits for {waits_for(look)}, here or on their phone"
        return Bar(mode="wait", words=words, how=how, href=ways.countersign(run, step.id))
    if signing is None:
        how = f"Off: step {step.number} waits for {waits_for(look)}"
        return Bar(mode="wait", words="Sign", how=how, off=True)
    return Bar(
        mode="sign",
        words=f"Sign as {signing.role}",
        how="Press and hold. Own secret",
        form="sign",
        send=ways.sign(run, step.id),
        hold=HOLD_TO_SIGN,
        signing=signing,
    )
