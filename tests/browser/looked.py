"""A page looked at by axe-core (in `axe/`, Mozilla Public License 2.0), in all three themes."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

THEMES = ("day", "dim", "dome")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@cache
def axe() -> str:
    """Return the source of axe-core, as it came."""
    return (Path(__file__).parent / "axe" / "axe.min.js").read_text()


def findings(page: Page, where: str) -> list[str]:
    """Return what axe finds on the open page, in each theme: the rule, the theme, the element.

    Every rule is asked in the first theme, the contrasts in all: nothing else changes with them.
    """
    page.evaluate(axe())
    # At its end nothing of the page lies under the bar, as when a person has scrolled to it.
    page.evaluate("window.scrollTo(0, document.documentElement.scrollHeight)")
    was = page.evaluate("document.documentElement.dataset.theme")
    found: list[str] = []
    for theme in THEMES:
        page.evaluate("theme => { document.documentElement.dataset.theme = theme }", theme)
        asked = {"type": "tag", "values": TAGS} if theme == THEMES[0] else ["color-contrast"]
        seen: dict[str, Any] = page.evaluate(
            "asked => axe.run(document, { runOnly: asked })", asked
        )
        found += [
            f"{where}, {theme}: {rule['id']}: {node['target']}: {node['html'][:120]}"
            for rule in seen["violations"]
            for node in rule["nodes"]
        ]
    page.evaluate("theme => { document.documentElement.dataset.theme = theme }", was)
    page.evaluate("window.scrollTo(0, 0)")
    return found
