"""How this tablet likes its pages."""

from __future__ import annotations

from dataclasses import dataclass

from app.web.views.frame import AtTablet, Frame, Way, frame_of

THEMES = (
    ("day", "Day", "Hall and daylight"),
    ("dim", "Dim", "Evening, or if red is hard to see"),
    ("dome", "Dome", "Red on black, for eyes used to the dark"),
)
SIZES = (
    ("plain", "Plain controls", "Bare hands or thin gloves"),
    ("large", "Large controls", "Thick gloves"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One choice."""

    value: str
    word: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingsView:
    """The settings of one tablet."""

    frame: Frame
    themes: tuple[Option, ...]
    sizes: tuple[Option, ...]
    back: str


def settings_view(session: AtTablet | None, theme: str, size: str, back: str) -> SettingsView:
    """Return the settings of this tablet."""
    return SettingsView(
        frame=frame_of(
            session,
            where="Display",
            sub="For this tablet alone",
            links=(Way(words="Back", href=back),),
            stop="/stop",
        ),
        themes=tuple(Option(value=v, word=w, words=m, chosen=v == theme) for v, w, m in THEMES),
        sizes=tuple(Option(value=v, word=w, words=m, chosen=v == size) for v, w, m in SIZES),
        back=back,
    )
