"""Photos as they were kept."""

from __future__ import annotations

import asyncio
import re

from fastapi import APIRouter
from starlette.responses import Response

from app.web.acting import TheHere
from app.web.turned_away import not_here
from app.web.uploads import media_type

router = APIRouter()

SHA256 = re.compile(r"[0-9a-f]{64}")


@router.get("/photos/{sha}")
async def photo(here: TheHere, sha: str) -> Response:
    """Return a photo; what its name says is what it is, so a tablet may keep it."""
    _ = here.tablet.signed_on
    kept = await asyncio.to_thread(here.desk.blobs.read, sha) if SHA256.fullmatch(sha) else None
    if kept is None:
        raise not_here("photo")
    headers = {"Cache-Control": "private, max-age=31536000, immutable"}
    return Response(kept, media_type=media_type(kept), headers=headers)
