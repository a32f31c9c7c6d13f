"""The ``coilbook`` command: parse, call, print, exit.

Rooms are imported inside the commands that need them, so that a quick command stays quick.
Exit codes: 0 clean, 1 invalid or mistaken, 2 doubtful (``check`` alone).
"""

from __future__ import annotations

import gc
import io
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from coilbook.commands.completing import complete_family, complete_piece, completion
from coilbook.errors import CoilbookError, Problem, RecordsInvalid

if TYPE_CHECKING:
    from coilbook.commands.workplace import Workplace

INVALID, DOUBTFUL = 1, 2

FOLDER = click.Path(file_okay=False, path_type=Path)
ARCHIVE = click.argument(
    "directory", metavar="[DIR]", type=click.Path(path_type=Path), required=False
)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
OUT = click.option(
    "--out",
    metavar="FOLDER",
    type=FOLDER,
    help="Where the site goes; left out, into 'site' in the archive.",
)

FAMILY = click.option(
    "--family",
    "family_id",
    metavar="NAME",
    help="The family, by its id or a plain word such as humbucker; needed.",
    shell_complete=complete_family,
)
#: Options of 'compare' that are one reading each, and what they say of themselves.
READINGS = {
    "pair": "Resistance of both coils in series, as in 8.1k.",
    "coil": "Resistance of the one coil of a single-coil.",
    "coil-a": "Resistance of the coil with the screws (of a split bass pickup, the bass side's).",
    "coil-b": "Resistance of the coil with the fixed poles (the treble side's).",
    "inductance": "Series inductance at the leads, as in 4.4H.",
    "quality": "Quality factor at the leads, at the same frequency.",
    "field": "Flux density at a pole, as in 420G or 42mT.",
    "spacing": "Spacing of the outer poles, as in '1 15/16 in'.",
}


class _Commands(click.Group):
    """The commands, with this program's exit codes and a near miss for a mistyped name."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """List the commands in the order in which a newcomer meets them."""
        return list(self.commands)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if not args[0].startswith("-") and self.get_command(ctx, args[0]) is None:
            import difflib

            near = difflib.get_close_matches(args[0], self.commands, 1)
            hint = f"Did you mean '{near[0]}'?" if near else "'coilbook --help' lists them."
            ctx.fail(f"There is no command '{args[0]}'. {hint}")
        return super().resolve_command(ctx, args)

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """Run a command and leave with its exit code; 2 is kept for doubtful records."""
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):
                # A console that has no Ω shows a question mark instead of a crash.
                stream.reconfigure(errors="replace")
        # Looking for garbage takes a sixth of a quick command, and there is next to none of it.
        gc.set_threshold(50_000, 20, 20)
        kwargs["standalone_mode"] = False
        try:
            code = super().main(*args, **kwargs)
        except click.Abort:
            sys.exit(130)
        except click.ClickException as error:
            error.show()
            sys.exit(INVALID)
        except RecordsInvalid as error:
            if _json_is_wanted(kwargs.get("args") or args[:1]):
                from coilbook.commands.problems import as_rows

                _print_json({"message": str(error), "problems": as_rows(error.problems)})
            else:
                _print_problems(error.problems)
            _say(str(error))
            sys.exit(INVALID)
        except CoilbookError as error:
            if _json_is_wanted(kwargs.get("args") or args[:1]):
                _print_json({"message": str(error), "problems": []})
            _say(str(error))
            sys.exit(INVALID)
        except OSError as error:
            _say(
                f"{error.filename or 'The computer'}: {error.strerror or error}. Nothing was lost. "
                "Name a folder that you may read and write, with space left, and run it again."
            )
            sys.exit(INVALID)
        sys.exit(code if isinstance(code, int) else 0)


def _json_is_wanted(typed: Sequence[Any]) -> bool:
    """Whether what was typed asks for JSON: then a mistake is told in it as well."""
    words = typed[0] if typed and not isinstance(typed[0], str) else typed
    return "--json" in (words or sys.argv[1:])


def _print_version(ctx: click.Context, _: click.Parameter, asked: bool) -> None:
    """Print the version, which takes longer to look up than to help with a command."""
    if asked and not ctx.resilient_parsing:
        from coilbook import __version__

        click.echo(f"coilbook {__version__}")
        ctx.exit()


#: What a first day needs; the backspace keeps the library from running the lines together.
_FIRST_DAY = """\b
A first day:
  coilbook ranges humbucker           what is usual of one
  coilbook compare --family humbucker --pair 8.1k --at 24C
                                      what a reading says
  coilbook new my-bench               begin your own archive, then
                                      fill in its .csv files
  coilbook check my-bench             every slip, and what to do
  coilbook serve my-bench             the site, while you type
  coilbook completion                 words at the Tab key

\b
Values as you write them: 8.1k, "7,82 kΩ", "1 15/16 in", 68F.
'coilbook COMMAND --help' says more of each. NO_COLOR=1 keeps
colours away."""


@click.group(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog=_FIRST_DAY,
)
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_version,
    help="Show the version and exit.",
)
@click.pass_context
def main(ctx: click.Context) -> None:
    """Turn a bench's pickup measurements into a reference site that works offline.

    Where DIR is left out, it is the folder you stand in if that is an archive, else the demo.
    """
    # Else pydantic looks through all that is installed for plug-ins of its own.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    if os.environ.get("NO_COLOR"):  # set to anything at all, by a convention of many programs
        ctx.color = False


@main.command()
@click.argument("directory", metavar="DIR", type=FOLDER)
@click.option("--title", metavar="TEXT", help="The site's title.")
def new(directory: Path, title: str | None) -> None:
    """Begin an archive in a new folder."""
    from coilbook.records import new_archive

    new_archive(directory, title)
    for path in sorted(directory.iterdir()):
        click.echo(path)
    click.echo(
        f"{directory / 'HOW-TO.txt'} says how to fill them in. Then run: coilbook check {directory}"
    )


@main.command()
@ARCHIVE
@click.option(
    "--coverage",
    "with_coverage",
    is_flag=True,
    help="Tell as well what the reference covers and what it leaves open.",
)
@click.option("--all", "every", is_flag=True, help="Print alike problems one by one.")
@AS_JSON
def check(directory: Path | None, with_coverage: bool, every: bool, as_json: bool) -> int:
    """Check every record and say what is wrong.

    All of it in one run, alike problems together. Exits 0 when all is clean, 1 when there are
    errors, 2 when there are only doubts. A note says how something was taken and is neither, and
    nor is what the reference leaves open.
    """
    archive = _place(directory).archive
    import datetime as dt

    from coilbook.commands.problems import as_rows
    from coilbook.records import load_archive, load_reference

    reference = load_reference()
    problems = reference.problems
    if reference.value is not None:
        problems += load_archive(archive, reference.value, dt.date.today()).problems

    def tell() -> None:
        again = f"coilbook check {directory or ''}".rstrip()
        _print_problems(
            problems,
            clean="No errors and no doubts.",
            every=every,
            how=f"{again} --all. What a word in [ ] means: coilbook explain WORD",
            codes=True,
        )

    if with_coverage and reference.value is not None:
        from coilbook.commands.coverage_report import as_data, as_text

        if as_json:
            _print_json({"problems": as_rows(problems), "coverage": as_data(reference.value)})
        else:
            tell()
            click.echo(as_text(reference.value))
    elif as_json:
        _print_json(as_rows(problems))
    else:
        tell()
    severities = {problem.severity for problem in problems}
    return INVALID if "error" in severities else DOUBTFUL if "doubt" in severities else 0


@main.command("import")
@click.argument("file", metavar="FILE", type=click.Path(dir_okay=False, path_type=Path))
@click.argument("directory", metavar="DIR", type=FOLDER)
def import_(file: Path, directory: Path) -> None:
    """Take a file of new pieces and readings into an archive.

    The whole of it, or nothing: what is there already is refused, and so is anything that would
    leave an error in the archive. The rows are added at the end of its pieces.csv and readings.csv.
    """
    archive = _place(directory).archive
    from coilbook.records import import_file, load_reference

    reference = load_reference()
    if reference.value is None:
        raise RecordsInvalid(reference.problems)
    taken = import_file(file, archive, reference.value)
    _print_problems(taken.doubts)
    click.echo(
        f"Imported {_count(taken.pieces, 'piece')} and {_count(taken.readings, 'reading')} "
        f"into {archive}."
    )


@main.command()
@ARCHIVE
@OUT
def build(directory: Path | None, out: Path | None) -> None:
    """Build the site.

    Nothing is built while the records hold an error. The site's folder is replaced as a whole.
    """
    place = _place(directory)
    _build(place.archive, out or place.out)


@main.command()
@ARCHIVE
@click.option(
    "--out",
    metavar="FILE",
    type=click.Path(dir_okay=False, path_type=Path),
    help="The zip to make; left out, 'site.zip' beside the site.",
)
def bundle(directory: Path | None, out: Path | None) -> None:
    """Make one zip of the built site, for a stick or a tablet.

    With a page that says how to open it, and a list of checksums. It takes the site as 'coilbook
    build' left it, and never writes over a file.
    """
    from coilbook.publish.bundle import make_bundle

    site = _place(directory).out
    made = make_bundle(site, out or site.with_name(f"{site.name}.zip"))
    click.echo(f"{_count(made.files, 'file')}, {made.size_bytes / 1e6:.1f} MB.")
    click.echo(f"The bundle: {made.path.resolve()}")


@main.command()
@ARCHIVE
@click.option(
    "--port",
    metavar="NUMBER",
    type=click.IntRange(1, 65535),
    default=8000,
    help="The port to show it at; 8000 if left out.",
)
def serve(directory: Path | None, port: int) -> None:
    """Build the site again on every change.

    Shows it on this computer alone; the page in the browser follows. While the records hold an
    error the site stays as it was, and the page says why.
    """
    from coilbook.commands.problems import grouped
    from coilbook.commands.serve import snapshot, watch
    from coilbook.publish.live import ADDRESS, LiveSite, start_server

    place = _place(directory)
    archive, site, live = place.archive, place.out, LiveSite()

    def rebuild() -> None:
        try:
            _build(archive, site)
            live.built()
        except RecordsInvalid as error:
            _print_problems(error.problems)
            _say("The site stays as it is until the errors are mended.")
            live.stays("\n".join([str(error), *grouped(error.problems)]))
        except CoilbookError as error:
            _say(str(error))
            live.stays(str(error))

    server = start_server(site, port, live)
    seen = snapshot(archive, site)
    rebuild()
    click.echo(f"Open http://{ADDRESS}:{port}/ in a browser. Ctrl-C ends it.")
    try:
        watch(archive, site, rebuild, seen=seen)
    except KeyboardInterrupt:
        click.echo("Ended.")
    finally:
        server.shutdown()


@main.command()
@click.argument("piece", shell_complete=complete_piece)
@ARCHIVE
@AS_JSON
def show(piece: str, directory: Path | None, as_json: bool) -> None:
    """Show one piece.

    Its readings as written, their values reduced with U (k = 2), verdicts with their reasons, and
    its place among its peers. For your own eyes: it shows pieces with publish = no as well.
    """
    archive = _place(directory).archive
    from coilbook.commands.show import as_data, as_text, find_piece

    shown = find_piece(archive, piece)
    if as_json:
        _print_json(as_data(shown))
    else:
        click.echo(as_text(shown))


def _readings(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command an option for each reading that a repairer makes most."""
    for name, what in reversed(READINGS.items()):
        command = click.option(f"--{name}", metavar="VALUE", help=what)(command)
    return command


@main.command()
@FAMILY
@click.option("--year", metavar="YEAR", help="The year it is from, if known.")
@click.option("--years", metavar="SPAN", help="The years it may be from, as in 1957-1960.")
@click.option("--position", metavar="WORD", help="The position it is from, as in neck.")
@click.option(
    "--state", metavar="WORD", help="untouched, repaired, rewound, or unknown if left out."
)
@_readings
@click.option("--gauge", metavar="GAUGE", help="The wire's gauge, as in 42.")
@click.option(
    "--read",
    "reads",
    metavar="READING",
    multiple=True,
    help="Any other, as in magnet-length=63.5mm or wire-mass@coil_a=17g; may be repeated.",
)
@click.option(
    "--feature",
    "features",
    metavar="ID",
    multiple=True,
    help="A feature seen, by its id; may be repeated.",
)
@click.option("--at", metavar="TEMPERATURE", help="Of the piece when it was read, as in 26C.")
@click.option(
    "--parallel",
    metavar="VALUE",
    help="What lies across it, as in 500k, or unknown; left out: its leads are free.",
)
@click.option(
    "--frequency", metavar="VALUE", help="Of the bridge for inductance and quality, as in 1kHz."
)
@click.option(
    "--accuracy",
    metavar="LIMIT",
    help="Of the meter that read the resistances, percent and digits, as in 0.5+2.",
)
@ARCHIVE
@AS_JSON
def compare(
    directory: Path | None,
    family_id: str | None,
    features: tuple[str, ...],
    reads: tuple[str, ...],
    as_json: bool,
    **given: str | None,
) -> None:
    """Compare a piece that is in no archive.

    What its readings come to, what they point to, the periods that they fit and what to read next,
    with DIR's pieces for its peers. Values as you write them: 8.1k, 7,82 kΩ, "1 15/16 in".
    """
    from coilbook.commands.compare import Typed, compare_piece, refuse_a_stray_unit
    from coilbook.commands.families import no_family
    from coilbook.commands.problems import as_rows
    from coilbook.commands.show import as_data, as_text

    refuse_a_stray_unit(directory, given)
    if family_id is None:
        raise no_family("coilbook compare")
    archive = _place(directory).archive

    simple = {
        name: value for name in READINGS if (value := given.pop(name.replace("-", "_"))) is not None
    }
    shown, doubts = compare_piece(
        archive, Typed(family_id, features=features, reads=reads, simple=simple, **given)
    )
    for doubt in doubts:
        _say(str(doubt))
    if as_json:
        _print_json({**as_data(shown), "problems": as_rows(doubts)})
    else:
        click.echo(as_text(shown))


@main.command()
@FAMILY
@click.option("--turns", metavar="NUMBER", help="Turns of one coil; the usual if left out.")
@click.option("--awg", metavar="GAUGE", help="The wire's gauge; the usual if left out.")
@click.option("--build", metavar="BUILD", help="single or heavy; the usual if left out.")
@click.option(
    "--at", metavar="TEMPERATURE", help="The coil's when it is read, as in 24C; 20 °C if left out."
)
@click.option(
    "--html",
    "html_file",
    metavar="FILE",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write the sheet to print into a new file.",
)
@AS_JSON
def winding(
    family_id: str | None,
    turns: str | None,
    awg: str | None,
    build: str | None,
    at: str | None,
    html_file: Path | None,
    as_json: bool,
) -> None:
    """Make a winding sheet.

    What a coil of so many turns should come to, how far off is still right, and what a departure
    may mean. With --html FILE it is one page to print, with boxes to fill in; it needs no network.
    """
    from coilbook.commands.families import no_family
    from coilbook.commands.winding_sheet import as_data, as_text, make_sheet, write_page

    if family_id is None:
        raise no_family("coilbook winding")
    made = make_sheet(family_id, turns, awg, build, at)
    if made.said:
        _say(made.said)
    if html_file is not None:
        write_page(made, html_file)
        click.echo(f"The sheet: {html_file.resolve()}", err=as_json)
    if as_json:
        _print_json(as_data(made))
    elif html_file is None:
        click.echo(as_text(made))


@main.command()
@click.argument("family", metavar="[FAMILY]", required=False, shell_complete=complete_family)
@AS_JSON
def ranges(family: str | None, as_json: bool) -> None:
    """Print what is usual of a family, or of each.

    With FAMILY, by its id or a plain word such as humbucker, every documented figure by period;
    without, the resistance and the years of all.
    """
    from coilbook.commands import ranges as table
    from coilbook.commands.families import family_of, reference_alone
    from coilbook.commands.problems import width

    reference = reference_alone()
    if family is None:
        found, said = list(reference.families.values()), ""
    else:
        one, said = family_of(reference, family)
        found = [one]
    if said:
        _say(said)
    if as_json:
        _print_json(table.as_data(reference, found))
    elif family is None:
        click.echo(table.all_as_text(reference, width()))
    else:
        click.echo(table.one_as_text(reference, found[0], width()))


@main.command()
@click.argument("code", metavar="[WORD]", required=False)
@AS_JSON
def explain(code: str | None, as_json: bool) -> None:
    """Explain a message of 'check'.

    WORD stands in brackets behind it. Without one, every message is listed.
    """
    from coilbook.commands import explaining

    found = explaining.messages(code)
    if as_json:
        _print_json(explaining.as_data(found))
    else:
        click.echo(explaining.as_text(found, one=code is not None))


@main.command()
@click.argument("name", metavar="[COMMAND]", required=False)
def schema(name: str | None) -> None:
    """Print the JSON Schema of a command's --json.

    Without COMMAND, the names of those that have one.
    """
    from coilbook.commands.json_schemas import names, schema_text

    click.echo("\n".join(names()) if name is None else schema_text(name))


main.add_command(completion)


@main.command()
@click.option("--check", "only_check", is_flag=True, help="Write nothing; exit 1 if stale.")
def describe(only_check: bool) -> int:
    """Write what is generated from the rules.

    The two datapackage.json, the data dictionary's page, and the commands in README.md.
    """
    from coilbook.commands.describe import stale_files, write_files
    from coilbook.resources import checkout_dir

    top = checkout_dir()
    if top is None:
        click.echo("Coilbook does not run from its source here: there is nothing to keep in step.")
        return 0
    stale = stale_files(top, main)
    if not only_check:
        write_files(stale)
    for path in stale:
        click.echo(f"{'stale' if only_check else 'written'}: {path}")
    if not stale:
        click.echo("Everything generated is in step with the records' rules.")
    elif only_check:
        _say("Run 'coilbook describe' and commit what it writes.")
        return INVALID
    return 0


def _place(directory: Path | None) -> Workplace:
    """Return the archive to work on, saying so when it is the demo for want of another."""
    from coilbook.commands.workplace import workplace

    place = workplace(directory)
    if place.fell_back:
        _say("No archive was named and this folder is none: taking the demo.")
    return place


def _build(archive: Path, out: Path) -> None:
    from coilbook.publish import build_site

    with _progress() as progress:
        report = build_site(archive, out, progress=progress)
    doubts = len(report.doubts)
    click.echo(f"{report.pages} pages in {report.seconds:.1f} s.")
    if doubts:
        _say(f"{_count(doubts, 'doubt')} in the records; 'coilbook check' lists them.")
    click.echo(f"The site: {out.resolve() / 'index.html'}")
    click.echo("Open that file in a browser; it needs no network.")


@contextmanager
def _progress() -> Iterator[Callable[[str, int, int], None] | None]:
    """Yield a callback that draws a bar on a terminal, or None where nobody looks."""
    if not sys.stderr.isatty():
        yield None
        return
    with click.progressbar(length=1000, label="Building", file=sys.stderr) as bar:

        def tell(stage: str, done: int, total: int) -> None:
            bar.label = stage
            bar.length = max(total, 1)
            bar.pos = 0
            bar.update(done)

        yield tell


def _print_problems(problems: Iterable[Problem], **how: Any) -> None:
    from coilbook.commands.problems import print_problems

    print_problems(problems, **how)


def _print_json(data: object) -> None:
    import json

    click.echo(json.dumps(data, indent=2))


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _say(message: str) -> None:
    click.echo(message, err=True)


if __name__ == "__main__":
    main(prog_name="coilbook")
