"""Where this site lives: its folder, the address it answers on, and what came with the program."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

DataFolder = Literal["templates", "static", "migrations", "procedures"]

EVERYWHERE = ("0.0.0.0", "::")  # noqa: S104  what to listen on, never a name to be called by
LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
FIRST_PORT, LAST_PORT = 1, 65535


class SettingsTrouble(Exception):  # noqa: N818 - told to a person, as it is named
    """A setting cannot be used; the message is a sentence for the person who set it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What a server of one site must be told."""

    folder: Path = Path("site")
    host: str = "127.0.0.1"
    port: int = 8420
    allowed_hosts: tuple[str, ...] = LOOPBACK  # names by which tablets may call the server

    plain: bool = False  # without certificates, though others than this machine can reach it

    @property
    def secure(self) -> bool:
        """Say whether the server speaks under a certificate: as soon as others can reach it."""
        return not self.plain and self.host not in (*LOOPBACK, "::1")

    @property
    def door(self) -> int:
        """Return the port at which a tablet gets the site's certificate."""
        return self.port + 1 if self.port < LAST_PORT else self.port - 1

    @property
    def called(self) -> str:
        """Return the name by which tablets call the server; "" when none was given."""
        return next((name for name in self.allowed_hosts if name not in LOOPBACK), "")

    @property
    def address(self) -> str:
        """Return the address to open in a browser."""
        shown = "127.0.0.1" if self.host in EVERYWHERE else self.host
        if self.secure:
            return f"https://{self.called or shown}:{self.port}"
        return f"http://{shown}:{self.port}"


def settings_from(environment: Mapping[str, str] = os.environ) -> Settings:
    """Return the settings that the environment's MIRRORWRIGHT_ variables ask for.

    Raises:
        SettingsTrouble: a variable holds what cannot be used.
    """
    plain = Settings()
    host = environment.get("MIRRORWRIGHT_HOST", plain.host)
    return Settings(
        folder=Path(environment.get("MIRRORWRIGHT_FOLDER", str(plain.folder))),
        host=host,
        port=port_from(environment.get("MIRRORWRIGHT_PORT", str(plain.port))),
        allowed_hosts=hosts_from(environment.get("MIRRORWRIGHT_ALLOWED_HOSTS", ""), host),
    )


def port_from(typed: str) -> int:
    """Return the port that was typed.

    Raises:
        SettingsTrouble: it is not a whole number from 1 to 65535.
    """
    if typed.isascii() and typed.isdecimal() and FIRST_PORT <= int(typed) <= LAST_PORT:
        return int(typed)
    raise SettingsTrouble(f"The port is {typed!r}. Give a whole number from 1 to 65535.")


def hosts_from(typed: str, host: str) -> tuple[str, ...]:
    """Return the names under which the server answers: this machine, its own host, those listed."""
    listed = [name.strip() for name in typed.split(",") if name.strip()]
    own = [] if host in EVERYWHERE else [host]
    return tuple(dict.fromkeys((*LOOPBACK, *own, *listed)))


def data_folder(name: DataFolder) -> Path:
    """Return a folder that came with the program: from the wheel, else from the checkout."""
    home = Path(__file__).resolve().parent
    carried = home / "_data" / name
    return carried if carried.is_dir() else home.parent / name
