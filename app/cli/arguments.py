"""What can be asked for on the command line, and which errand does it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from app.cli import founding, register, sums, tools, trusting, verifying
from app.cli.records import write_record
from app.cli.serving import serve_demo, serve_site
from app.cli.texts import check_files
from app.settings import SettingsTrouble, port_from

if TYPE_CHECKING:
    from app.settings import Settings

DEMO_FOLDER = Path("demo-site")


def parser_of(given: Settings) -> argparse.ArgumentParser:
    """Return the parser; what the environment gives stands where nothing is typed."""
    parser = argparse.ArgumentParser(
        prog="mirrorwright",
        description="Carries a telescope mirror through its recoating, and seals the record.",
    )
    errands = parser.add_subparsers(required=True, metavar="ERRAND")

    site = errands.add_parser("serve", help="run the server of a site")
    _where(site, given.folder)
    site.add_argument("--host", default=given.host, help="address to listen on")
    site.add_argument("--port", type=_port, default=given.port)
    site.add_argument(
        "--names",
        default=",".join(given.allowed_hosts),
        help="names by which tablets call the server, with commas between",
    )
    site.add_argument(
        "--plain",
        action="store_true",
        help="without certificates: pages cannot be read without the link then",
    )
    site.set_defaults(errand=serve_site)

    show = errands.add_parser("demo", help="run an invented site, ready to be tried")
    _where(show, DEMO_FOLDER)
    show.add_argument("--port", type=_port, default=given.port)
    show.add_argument("--fresh", action="store_true", help="forget what was entered; start anew")
    show.set_defaults(errand=serve_demo)

    proof = errands.add_parser("check", help="say whether procedures can be released")
    proof.add_argument("files", nargs="+", type=Path, metavar="FILE")
    proof.add_argument("--json", action="store_true", help="the same as data")
    proof.add_argument(
        "--against",
        nargs="+",
        type=Path,
        default=(),
        metavar="OLD",
        help="earlier texts: say what changed, and whether the crew must read it anew",
    )
    proof.set_defaults(errand=check_files)

    whole = errands.add_parser("verify", help="say whether a sealed record is whole")
    whole.add_argument("files", nargs="*", type=Path, metavar="FILE")
    whole.add_argument("--root", metavar="FINGERPRINT", help="the site's own, from a second source")
    whole.add_argument("--site-log", type=Path, metavar="FILE", help="the site's own stream, whole")
    whole.add_argument("--photos", type=Path, metavar="FOLDER", help="the photos, as they are kept")
    whole.add_argument("--ledger", type=Path, metavar="FOLDER", help="look through a site's folder")
    whole.set_defaults(errand=verifying.verify_files)
    _keeping(errands, given.folder)

    record = errands.add_parser("record", help="write the sealed record of a closed run")
    record.add_argument("run", metavar="RUN")
    record.add_argument("--out", type=Path, metavar="FILE")
    _where(record, given.folder)
    record.set_defaults(errand=write_record)

    founding.add_parser(errands, given.folder)
    sums.add_parser(errands)
    tools.add_parser(errands, given.folder)
    trusting.add_parser(errands, given.folder)
    _people_parser(errands.add_parser("people", help="keep the register of people"), given.folder)
    return parser


def _keeping(errands: argparse._SubParsersAction[argparse.ArgumentParser], folder: Path) -> None:
    log = errands.add_parser("site-log", help="write the site's own stream, to lay beside records")
    log.add_argument("--out", type=Path, metavar="FILE", default=Path("site-log.jsonl"))
    _where(log, folder)
    log.set_defaults(errand=verifying.write_site_log)

    copy = errands.add_parser("backup", help="copy a site, and look through the copy")
    copy.add_argument("--into", type=Path, metavar="FOLDER", help="where backups are kept")
    _where(copy, folder)
    copy.set_defaults(errand=verifying.back_up)

    back = errands.add_parser("restore", help="put a backup into a new folder, and look through it")
    back.add_argument("backup", type=Path, metavar="BACKUP")
    back.add_argument("--into", type=Path, metavar="FOLDER", required=True)
    back.set_defaults(errand=verifying.restore)


def _people_parser(people: argparse.ArgumentParser, folder: Path) -> None:
    changes = people.add_subparsers(required=True, metavar="CHANGE")
    for name, errand, told in (
        ("list", register.list_people, "everyone, with their roles"),
        ("add", register.add, "a person, with their first secret"),
        ("role", register.give_roles, "give a person these roles in place of their present ones"),
        ("secret", register.reset_secret, "give a person a new secret; it unlocks them"),
        ("unlock", register.unlock, "forget a person's wrong tries"),
        ("retire", register.retire, "a person signs nothing more, and stays in the record"),
    ):
        change = changes.add_parser(name, help=told)
        change.set_defaults(errand=errand)
        _where(change, folder)
        if name != "list":
            change.add_argument("id", metavar="ID", help="2 to 4 capital letters")
        if name == "add":
            change.add_argument("name", metavar="NAME")
        if name in {"add", "role"}:
            change.add_argument("roles", nargs="+", metavar="ROLE")
        if name in {"add", "secret"}:
            change.add_argument("--generate", action="store_true", help="draw a secret, print it")


def _where(parser: argparse.ArgumentParser, folder: Path) -> None:
    parser.add_argument("--folder", type=Path, default=folder, help=f"the site's ({folder})")


def _port(typed: str) -> int:
    try:
        return port_from(typed)
    except SettingsTrouble as trouble:
        raise argparse.ArgumentTypeError(str(trouble)) from None
