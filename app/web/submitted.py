"""What a person sent with an act: a form, a form with photos, or JSON, read into one shape."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated

import orjson
from fastapi import Depends, Request
from starlette.datastructures import FormData, UploadFile
from starlette.formparsers import MultiPartException

from app.web.turned_away import TurnedAway, not_readable

VALUE = "values."  # a form's field `values.reading` is the JSON's `{"values": {"reading": ...}}`
LONGEST_TEXT = 4000
LONGEST_PROCEDURE = 200_000  # signs; a whole text is brought as one field
WHOLE_TEXTS = frozenset({"toml", "lines"})
NOT_VALUES = frozenset({"part", "seen", "key", "person", "secret", "back", "page"})
KEY_ALPHABET = frozenset("0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ-_")
LONGEST_KEY = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Submitted:
    """The fields of one act, all text; several of one name stay several."""

    fields: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    values: Mapping[str, str] = field(default_factory=dict)
    photos: Mapping[str, bytes] = field(default_factory=dict)
    header_key: str = ""

    def text(self, name: str) -> str:
        """Return a field without the blanks around it, or "" when it was not sent."""
        return self.fields.get(name, ("",))[0].strip()

    def exact(self, name: str) -> str:
        """Return a field as typed: a secret may begin or end with a blank."""
        return self.fields.get(name, ("",))[0]

    def texts(self, name: str) -> tuple[str, ...]:
        """Return all fields of one name that hold something."""
        return tuple(text.strip() for text in self.fields.get(name, ()) if text.strip())

    def several(self, name: str) -> tuple[str, ...]:
        """Return all fields of one name as typed, the empty ones too."""
        return self.fields.get(name, ())

    def needed(self, name: str, sentence: str) -> str:
        """Return a field that must hold something.

        Raises:
            TurnedAway: it does not.
        """
        found = self.text(name)
        if not found:
            raise not_readable(sentence)
        return found

    def typed(self, but: frozenset[str] = frozenset()) -> dict[str, str]:
        """Return what was typed for the entry itself: `values`, or all fields that are not ours."""
        left = {
            name: found[0].strip()
            for name, found in self.fields.items()
            if name not in NOT_VALUES | but and found[0].strip()
        }
        return {**left, **{name: value for name, value in self.values.items() if value}}

    @property
    def seen(self) -> int:
        """Return the number up to which the person's page was drawn.

        Raises:
            TurnedAway: it was not sent, or it is not a whole number.
        """
        typed = self.text("seen")
        if not (typed.isascii() and typed.isdecimal() and len(typed) < 10):
            raise not_readable("The page did not say what it had seen. Load it again. Not saved.")
        return int(typed)

    @property
    def key(self) -> str:
        """Return the key under which this act counts once, however often it is sent.

        Raises:
            TurnedAway: it is not a key.
        """
        key = self.header_key or self.text("key") or new_key()
        if len(key) > LONGEST_KEY or not KEY_ALPHABET.issuperset(key):
            raise not_readable("The key of this act is not one. Load the page again. Not saved.")
        return key


def new_key() -> str:
    """Return a key that no other act has."""
    return secrets.token_urlsafe(18)


async def submitted(request: Request) -> Submitted:
    """Read what was sent.

    Raises:
        TurnedAway: it is neither a form nor JSON as agreed.
    """
    header_key = request.headers.get("idempotency-key", "")
    if request.headers.get("content-type", "").partition(";")[0].strip() == "application/json":
        return _from_json(await request.body(), header_key)
    try:
        form = await request.form(max_files=12, max_fields=400, max_part_size=64 * 1024)
    except (MultiPartException, UnicodeDecodeError) as broken:
        raise not_readable("The form did not arrive whole. Not saved.") from broken
    try:
        return await _from_form(form, header_key)
    finally:
        await form.close()


TheSubmitted = Annotated[Submitted, Depends(submitted)]


def _from_json(body: bytes, header_key: str) -> Submitted:
    try:
        sent = orjson.loads(body or b"{}")
    except orjson.JSONDecodeError as broken:
        raise not_readable("The JSON could not be read. Not saved.") from broken
    if not isinstance(sent, dict):
        raise not_readable("The JSON must be one object. Not saved.")
    typed = sent.pop("values", {})
    if not isinstance(typed, dict):
        raise not_readable("`values` must be an object of texts. Not saved.")
    fields = {
        name: tuple(
            _as_text(name, each) for each in (found if isinstance(found, list) else [found])
        )
        for name, found in sent.items()
    }
    values = {name: _as_text(name, found).strip() for name, found in typed.items()}
    return Submitted(fields=fields, values=values, header_key=header_key)


async def _from_form(form: FormData, header_key: str) -> Submitted:
    fields: dict[str, tuple[str, ...]] = {}
    values: dict[str, str] = {}
    photos: dict[str, bytes] = {}
    for name, found in form.multi_items():
        if isinstance(found, UploadFile):
            if found.size:
                photos[name.removeprefix(VALUE)] = await found.read()
        elif name.startswith(VALUE):
            values[name.removeprefix(VALUE)] = _as_text(name, found).strip()
        else:
            fields[name] = (*fields.get(name, ()), _as_text(name, found))
    return Submitted(fields=fields, values=values, photos=photos, header_key=header_key)


def _as_text(name: str, found: object) -> str:
    """Return a text or a whole number as text; a measured value is never a JSON number."""
    if isinstance(found, bool) or not isinstance(found, str | int):
        raise not_readable(f"`{name}` must be a text. Write numbers as they were read. Not saved.")
    text = str(found)
    if any(ord(each) < ord(" ") and each not in "\r\n\t" for each in text):
        raise not_readable(f"`{name}` holds signs that cannot be written down. Not saved.")
    if len(text) > (LONGEST_PROCEDURE if name in WHOLE_TEXTS else LONGEST_TEXT):
        raise TurnedAway(422, "form.too_long", f"`{name}` is too long. Not saved.")
    return text
