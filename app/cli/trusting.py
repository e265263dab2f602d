"""Errands about the certificates of a site: shown, made anew, written out for managed tablets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from app.cli.told import NO, YES, Trouble, open_site
from app.desk.desk import utc_now
from app.desk.trust import NoTrust, Trust, made_anew, open_trust, renewed
from app.settings import LOOPBACK

if TYPE_CHECKING:
    import argparse

NONE_YET = (
    "This site has no certificates yet. They are made when it is first served to tablets: "
    "mirrorwright serve --host ADDRESS --names NAME."
)


def add_parser(errands: argparse._SubParsersAction[argparse.ArgumentParser], folder: Path) -> None:
    """Add what can be asked of a site's certificates."""
    trust = errands.add_parser("trust", help="the certificates under which tablets speak to a site")
    acts = trust.add_subparsers(required=True, metavar="ACT")
    show = acts.add_parser("show", help="names, ends, and the fingerprint to print")
    show.set_defaults(errand=show_trust)
    renew = acts.add_parser("renew", help="make the server's certificate anew")
    renew.add_argument("--names", default="", help="names by which tablets call the server")
    renew.add_argument(
        "--authority",
        action="store_true",
        help="make another authority too; then every tablet is enrolled again",
    )
    renew.set_defaults(errand=renew_trust)
    export = acts.add_parser(
        "export", help="write the authority's certificate, for managed tablets"
    )
    export.add_argument("--out", type=Path, required=True, metavar="FILE")
    export.set_defaults(errand=export_trust)
    for act in (show, renew, export):
        act.add_argument("--folder", type=Path, default=folder, help=f"the site's ({folder})")


def show_trust(asked: argparse.Namespace) -> int:
    """Say what the certificates are for and until when; NO when they end soon."""
    trust = _known(asked.folder)
    warning = trust.warning(utc_now())
    print("\n".join(_told(trust)))
    if warning:
        print(warning)
    return NO if warning else YES


def renew_trust(asked: argparse.Namespace) -> int:
    """Make the server's certificate anew; with --authority all of it."""
    desk = open_site(asked.folder)
    site = desk.site.name
    desk.close()
    try:
        if asked.authority:
            names = asked.names.split(",") if asked.names else _known(asked.folder).names
            fresh = made_anew(asked.folder, site, (*LOOPBACK, *names), utc_now())
        else:
            known = _known(asked.folder)
            fresh = renewed(known, site, (*known.names, *asked.names.split(",")), utc_now())
    except NoTrust as trouble:
        raise Trouble(str(trouble)) from None
    print("\n".join((*_told(fresh), "Start the server again: it shows the new one then.")))
    return YES


def export_trust(asked: argparse.Namespace) -> int:
    """Write the authority's certificate as device management takes it (DER)."""
    trust = _known(asked.folder)
    asked.out.write_bytes(trust.der)
    print(f"{asked.out} holds the authority's certificate.\nSHA-256 {trust.fingerprint}")
    return YES


def _known(folder: Path) -> Trust:
    known = open_trust(folder)
    if known is None:
        raise Trouble(NONE_YET)
    return known


def _told(trust: Trust) -> tuple[str, ...]:
    return (
        f"The server is trusted as {', '.join(trust.names)}",
        f"  until {trust.server.not_valid_after_utc:%Y-%m-%d}",
        f"under the site's own authority, until {trust.authority.not_valid_after_utc:%Y-%m-%d}",
        "Its fingerprint, SHA-256, to be printed and compared on each tablet:",
        f"  {trust.fingerprint[:39]}",
        f"  {trust.fingerprint[40:]}",
    )
