"""The console script: each command is a few lines over an action."""

from __future__ import annotations

import getpass
import socket
import sys
import threading
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any, NoReturn

import typer
import uvicorn
from typer.core import TyperGroup

from service import demo
from service.access.actor import SYSTEM
from service.access.permissions import PEOPLE, Role
from service.access.work import Work
from service.accounts import actions as accounts
from service.accounts.schemas import AddAccount, AddSite, IssueToken
from service.app import create_app
from service.growth.actions import replay
from service.growth.backtest import table
from service.growth.lines import answer_lines
from service.growth.recorded import Entry
from service.kit.clock import clock_in
from service.kit.db import Database
from service.kit.errors import Misconfigured, Refusal
from service.kit.files import Files
from service.kit.logging import configure
from service.migrate import require_current, upgrade
from service.settings import Settings
from service.web.forms import command
from service.worker import run_until


class _FileOrCommand(TyperGroup):
    """A group of which the first word may be a file instead of a command; a file called as one is ./backtest."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read what is no command as the file to answer."""
        if args and args[0] not in {*self.commands, *ctx.help_option_names}:
            args = ["file", *args]
        return super().parse_args(ctx, args)


cli = typer.Typer(help="The Handspan register.", no_args_is_help=True, pretty_exceptions_enable=False)
forecast = typer.Typer(
    cls=_FileOrCommand,
    no_args_is_help=True,
    help="`handspan forecast FILE` answers each line of FILE, a case, with a line of forecast; - is standard input.",
)
account = typer.Typer(help="People who sign in.", no_args_is_help=True)
site = typer.Typer(help="Branches and partner clinics.", no_args_is_help=True)
cli.add_typer(forecast, name="forecast")
cli.add_typer(account, name="account")
cli.add_typer(site, name="site")

Port = Annotated[int, typer.Option(min=1, max=65535, help="Where to listen on this machine.")]


@cli.command("demo")
def demo_(
    data: Annotated[Path | None, typer.Option(help="Folder for the demo register.")] = None, port: Port = 8000
) -> None:
    """Make a demo register unless the folder holds one already, print its sign-ins, and serve it."""
    address = f"http://127.0.0.1:{port}"
    settings = Settings(base_url=address) if data is None else Settings(base_url=address, data=data)
    if settings.smtp_url is None and settings.mail_folder is None:  # nothing leaves the machine unasked
        settings = settings.model_copy(update={"mail_folder": settings.data / "mail"})
    settings.keep_generated_secret()
    upgrade(settings.database)
    with _database(settings) as db:
        _fill_demo(db, settings)
        door = demo.family_door(db)
    for person in demo.PEOPLE:
        typer.echo(f"{person.role.label:18}  {person.email:32}  {person.password}")
    if door is not None:
        key, born = door
        typer.echo(f"a family            {address}/family/{key}  (asks for a month of birth: {born:%B %Y})")
    _serve(settings, port)


@cli.command()
def serve(port: Port = 8000, host: Annotated[str, typer.Option(help="Address to listen on.")] = "127.0.0.1") -> None:
    """Serve the register."""
    settings = Settings()
    settings.secret()
    with _database(settings) as db:
        require_current(db)
    _serve(settings, port, host)


@cli.command()
def work() -> None:
    """Run queued jobs until told to stop, for a register served without its embedded worker."""
    settings = Settings()
    stop = threading.Event()
    with _database(settings) as db:
        require_current(db)
        typer.echo("working; Ctrl-C ends it")
        try:
            run_until(stop, db, clock_in(settings.zone), settings)
        except KeyboardInterrupt:
            typer.echo("stopped")


@cli.command()
def migrate() -> None:
    """Bring the database to this release's tables."""
    settings = Settings()
    upgrade(settings.database)
    typer.echo("The database is up to date.")


@forecast.command("file", hidden=True)
def forecast_file(
    file: Annotated[typer.FileBinaryRead, typer.Argument(help="JSON lines; - for standard input.")],
) -> None:
    """Answer each line of FILE, a case or {"case": …}, with a line of forecast; exit code 1 if a line was bad."""
    all_good = True
    for line, good in answer_lines(file):
        sys.stdout.write(line + "\n")
        all_good = all_good and good
    raise typer.Exit(0 if all_good else 1)


@forecast.command()
def backtest(
    *, keep: Annotated[bool, typer.Option("--keep", help="Add them to the record, marked as replayed.")] = False
) -> None:
    """Replay the sockets that came off: what would this release's model have said 30 to 365 days before?"""
    with _database(Settings()) as db:
        require_current(db)
        for line in table(_replayed(db, keep=keep)):
            typer.echo(line)


@account.command("add")
def account_add(
    email: str,
    name: Annotated[str, typer.Option(prompt=True)],
    role: Annotated[list[Role], typer.Option(help=f"One of {', '.join(PEOPLE)}; may be given more than once.")],
    site: Annotated[list[str], typer.Option(help="A site's code; may be given more than once.")],
) -> None:
    """Open an account; asks for the password, or reads it from standard input."""
    password = getpass.getpass("Password: ") if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
    asked = command(AddAccount, {"email": email, "name": name, "roles": role, "sites": site, "password": password})
    with _writing() as task:
        accounts.add_account(task, asked)
    typer.echo(f"{email} can sign in.")


@site.command("add")
def site_add(
    code: str,
    name: Annotated[str, typer.Option(prompt=True)],
    lead_days: Annotated[int, typer.Option(help="Days that making and delivering a socket takes there.")] = 28,
) -> None:
    """Open a site; its code is short and stays."""
    asked = command(AddSite, {"code": code, "name": name, "lead_days": lead_days})
    with _writing() as task:
        accounts.add_site(task, asked)
    typer.echo(f"{name} is open. Accounts may now belong to {code}.")


@cli.command()
def token(email: str) -> None:
    """Print a new API token for an account; it is shown this once."""
    with _writing() as task:
        issued = accounts.issue_token_for(task, email, IssueToken(name="console"))
    typer.echo(issued.token)


def main() -> None:
    """Run a command; what is refused or misconfigured is a sentence, not a traceback."""
    configure()
    try:
        cli()
    except Refusal as refusal:
        details = "".join(f"\n  {each.field}: {each.message}" for each in refusal.fields)
        _give_up(refusal.detail + details)
    except Misconfigured as refusal:
        _give_up(str(refusal))


def _fill_demo(db: Database, settings: Settings) -> None:
    match demo.is_demo(db):
        case None:
            typer.echo("making a demo register …")
            demo.build(db, clock_in(settings.zone), Files(settings.files), settings)
            deque(_replayed(db, keep=True), maxlen=0)  # a demo has no past in which its forecasts were made
            demo.make_sheets(db, clock_in(settings.zone), settings)
        case False:
            raise Misconfigured(
                "This database holds a register that is not a demo, so nothing was changed. "
                "Name another folder with --data, or serve this one with `handspan serve`."
            )


def _replayed(db: Database, *, keep: bool) -> Iterator[Entry]:
    """Every socket that came off, replayed a batch at a time, each batch in a transaction of its own."""
    after: int | None = 0
    while after is not None:
        with db.writing() if keep else db.reading() as session:
            entries, after = replay(Work(session, SYSTEM, clock_in(Settings().zone)()), after, keep=keep)
        yield from entries


def _serve(settings: Settings, port: int, host: str = "127.0.0.1") -> None:
    try:
        _Announced(uvicorn.Config(create_app(settings), host=host, port=port, log_level="warning")).run()
    except KeyboardInterrupt:  # the server has finished what it was doing and passes Ctrl-C on
        typer.echo("stopped")


class _Announced(uvicorn.Server):
    """A server that says on standard output when it accepts requests."""

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            typer.echo(f"ready: http://{self.config.host}:{self.config.port}")


@contextmanager
def _database(settings: Settings) -> Iterator[Database]:
    db = Database(settings.database)
    try:
        yield db
    finally:
        db.close()


@contextmanager
def _writing() -> Iterator[Work]:
    with _database(Settings()) as db:
        require_current(db)
        with db.writing() as session:
            yield Work(session, SYSTEM, clock_in(Settings().zone)())


def _give_up(sentence: str) -> NoReturn:
    typer.echo(sentence, err=True)
    raise SystemExit(2)
