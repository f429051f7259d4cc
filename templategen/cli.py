"""The command line: words in, exit codes out.

0 done · 1 ``check`` has findings to decide · 2 the input is wrong · 3 the machine is (disk full, no permission)
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import io
import os
import shutil
import sys
import textwrap
import threading
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import TextIO

from templategen import __version__, job
from templategen.errors import Finding, MachineError, OurBug, Problem, SpecError, harmless, problem_report

SHOW_WIDTH = 100  # signs a line at most: what is wider is hard to follow
DONE, TO_DECIDE, WRONG_INPUT, MACHINE = 0, 1, 2, 3
INTERRUPTED = 130  # what a shell reports for a program that an interrupt ended


def run() -> None:
    """One command as a process of its own.

    A single job is over before a collector would pay, and its end gives all memory back: once everything is written and
    told, the process leaves without taking its libraries down one by one. Commands over many specs, and those that go
    on, collect as usual; where threads are still at work, the process ends in the ordinary way.
    """
    gc.disable()
    code = main()
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    if threading.active_count() > 1:
        sys.exit(code)
    os._exit(code)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    _forgiving(sys.stdout, sys.stderr)
    words = _parser().parse_args(argv)
    try:
        code: int = words.run(words)
        sys.stdout.flush()
        return code
    except SpecError as error:
        return _say_last(problem_report(error.problems), WRONG_INPUT)
    except MachineError as error:
        return _say_last(str(error), MACHINE)
    except OSError as error:  # the store has its own words: this is the terminal, a pipe, or the working folder
        return _unwritable(error)
    except MemoryError:
        return _say_last("the machine's memory is full; former results are as they were", MACHINE)
    except KeyboardInterrupt:
        return _interrupted()
    except Exception as error:  # whatever comes here is ours to mend; exit code 1 would mean "findings to decide"
        if _from_interrupt(error):
            return _interrupted()
        if not isinstance(error, OurBug):
            traceback.print_exc()
        return _say_last(
            f"templategen is at fault, not your spec: {error}\nPlease report it with the spec file.", MACHINE
        )


def _forgiving(*streams: TextIO) -> None:
    """A terminal that cannot show a sign shows a question mark in its place."""
    for stream in streams:
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def _say_last(text: str, code: int) -> int:
    """Tell why it ended, where there is still somewhere to tell it."""
    try:
        print(harmless(text), file=sys.stderr, flush=True)
    except OSError:
        return _unwritable(None)
    return code


def _unwritable(error: OSError | None) -> int:
    """Output that nobody takes: a closed pipe says nothing, anything else one line; both are the machine's."""
    if error is not None and not isinstance(error, BrokenPipeError):
        with contextlib.suppress(OSError):
            where = f"{error.filename}: " if error.filename else "output "
            print(f"{where}cannot be written or found: {error.strerror or error}", file=sys.stderr, flush=True)
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        for stream in (sys.stdout, sys.stderr) if error is None else (sys.stdout,):
            os.dup2(nowhere, stream.fileno())
    return MACHINE


def _interrupted() -> int:
    print("interrupted; every result is whole: the new one where it was finished, else the former", file=sys.stderr)
    return INTERRUPTED


def _from_interrupt(error: BaseException | None) -> bool:
    """Whether an interrupt started it: a compiled library that is just being imported turns one into its own error."""
    while error is not None:
        if isinstance(error, KeyboardInterrupt):
            return True
        error = error.__cause__ or error.__context__
    return False


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="templategen",
        description="One spec file of a fretted instrument in, true-scale shop files out.",
        epilog="Exit codes: 0 done, 1 check has findings to decide, 2 the input is wrong, 3 the machine is.",
    )
    parser.add_argument("--version", action="version", version=f"templategen {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)

    make = commands.add_parser("make", help="write the shop files of one or more specs")
    make.add_argument("specs", nargs="+", metavar="SPEC", help="spec file (TOML)")
    make.add_argument(
        "--only", nargs="+", default=[], metavar="PART", help="only these parts (a wrong one lists them all)"
    )
    make.add_argument(
        "--format", nargs="+", default=[], metavar="F", help=f"only these formats: {', '.join(job.FORMATS)}"
    )
    make.add_argument("--out", default="out", metavar="DIR", help="folder to write to (default: out)")
    make.add_argument("--jobs", type=_count, default=1, metavar="N", help="how many specs at a time (default: 1)")
    make.set_defaults(run=_make)

    check = commands.add_parser("check", help="tell problems and findings; write nothing")
    check.add_argument("specs", nargs="+", metavar="SPEC")
    check.set_defaults(run=_check)

    show = commands.add_parser("show", help="the numbers as tables in the terminal")
    show.add_argument("spec", metavar="SPEC")
    show.add_argument(
        "--only", nargs="+", default=[], metavar="TABLE", help="only these tables (a wrong one lists them all)"
    )
    show.set_defaults(run=_show)

    new = commands.add_parser("new-spec", help="write an annotated spec to fill in at the bench")
    new.add_argument("file", metavar="FILE")
    new.add_argument("--title", default="Loan fleet 00: measured at the bench", help="title of the instrument")
    new.add_argument("--shop", metavar="FILE", help="write an annotated shop file too, named by the spec")
    new.add_argument("--units", choices=("mm", "in"), default="mm", help="unit of the sheet (default: mm)")
    new.add_argument("--kind", default="electric", metavar="KIND", help="kind of instrument; a wrong one lists all")
    new.add_argument("--strings", type=_count, metavar="N", help="how many strings (default: what the kind has)")
    new.set_defaults(run=_new_spec)

    live = commands.add_parser("open", help="the live page: fill in, see and make in the browser, on this machine only")
    live.add_argument("spec", nargs="?", metavar="SPEC", help="spec file to begin with, or a folder of them")
    live.add_argument("--out", default="out", metavar="DIR", help="folder to write to (default: out)")
    live.add_argument("--port", type=int, default=0, metavar="N", help="port to answer at (default: any that is free)")
    live.add_argument("--no-browser", action="store_true", help="print the address and open no browser")
    live.set_defaults(run=_open)

    found = commands.add_parser("survey", help="tell what a file of readings amounts to, and how well it is known")
    found.add_argument("file", metavar="FILE", help="survey file (TOML)")
    found.add_argument("--draft", metavar="SPEC", help="also begin a spec with the values found")
    found.set_defaults(run=_survey)

    blank = commands.add_parser("new-survey", help="write a survey to fill in, and the sheet to print and measure with")
    blank.add_argument("file", metavar="FILE")
    blank.add_argument("--title", default="Loan fleet 00 as found", help="title of the instrument")
    blank.add_argument("--frets", type=_count, default=21, metavar="N", help="how many frets (default: 21)")
    blank.add_argument("--strings", type=_count, default=6, metavar="N", help="how many strings (default: 6)")
    blank.add_argument("--paper", default="A4", choices=["A4", "Letter"], help="to print on (default: A4)")
    blank.set_defaults(run=_new_survey)

    schema = commands.add_parser("schema", help="print the JSON Schema of the spec file, for editors")
    of = schema.add_mutually_exclusive_group()
    of.add_argument("--shop", dest="of", action="store_const", const="shop", help="of the shop file")
    of.add_argument("--survey", dest="of", action="store_const", const="survey", help="of the survey file")
    schema.set_defaults(run=_schema, of="spec")
    for reading in (make, check, show, live):
        reading.add_argument(
            "--outside", action="store_true", help="let the spec name files that lie outside its own folder"
        )
    return parser


def _count(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"{text} is not a whole number of 1 or more")
    return int(text)


# --------------------------------------------------------------------------------------------------------- commands


def _make(words: argparse.Namespace) -> int:
    """Write, tell what was written, and end with what is to decide, so that it is not scrolled away."""
    if len(words.specs) > 1:
        gc.enable()
    _known(words.only, job.part_names(), "--only", "part")
    _known(words.format, job.FORMATS, "--format", "format")
    clashes = job.duplicates(words.specs)
    if clashes:
        raise SpecError(clashes)
    code, open_yet = DONE, {}
    tell = _progress(len(words.specs))
    results = job.make_all(words.specs, words.out, words.only, words.format, words.jobs, tell, _waits, words.outside)
    for result in results:
        if isinstance(result, job.Made):
            _tell_made(result)
            open_yet[result.folder] = [finding for finding in result.findings if finding.level == "decide"]
            code = max(code, MACHINE if result.missing else DONE)
        else:
            sys.stdout.flush()
            text = problem_report(result.problems) if isinstance(result, SpecError) else str(result)
            print(harmless(text), file=sys.stderr)
            code = max(code, WRONG_INPUT if isinstance(result, SpecError) else MACHINE)
    for folder, findings in open_yet.items():
        if findings:
            print(f"{folder}: {_amount(len(findings), 'finding')} to decide")
            _tell_findings(findings)
    return code


def _progress(count: int) -> job.Progress:
    """Names of parts as they are made: on a terminal over one line, elsewhere nothing until a spec is done."""
    if not sys.stderr.isatty():
        return lambda spec, part: None

    def tell(spec: str, part: str) -> None:
        sys.stderr.write(f"\r\x1b[K{spec}: {part} …" if part else "\r\x1b[K")
        sys.stderr.flush()

    return tell


def _waits(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def _tell_made(made: job.Made) -> None:
    if made.unchanged:
        print(_wrapped(f"{made.folder}: unchanged, nothing written"))
    else:
        print(_wrapped(f"{made.folder}: {len(made.files)} files and {job.MANIFEST}"))
        stems: dict[tuple[str, str], list[str]] = {}
        for name, note in made.files:
            stem, _, suffix = name.rpartition(".")
            stems.setdefault((stem, note), []).append(suffix)
        for (stem, note), suffixes in stems.items():
            print(_wrapped(f"  {stem} ({', '.join(suffixes)})" + (f": {note}" if note else "")))
        for caution in made.cautions:
            print(_wrapped(f"  caution: {caution}"))
    for line in made.told:
        print(_wrapped(f"  kept: {line}"))
    _tell_findings([finding for finding in made.findings if finding.level == "note"])
    for name, why in made.missing:
        print(_wrapped(f"  MISSING: {name} could not be made: {why}. All else is whole; please report it."))


def _tell_findings(findings: Sequence[Finding]) -> None:
    for finding in sorted(findings, key=lambda f: f.level != "decide"):
        print(_wrapped(f"  {finding.level}: {finding.message}  [{finding.key}]"))


def _wrapped(text: str) -> str:
    """Harmless to a terminal and broken to its width with a hanging indent; left whole where output is no terminal."""
    text = harmless(text)
    if not sys.stdout.isatty():
        return text
    width = max(shutil.get_terminal_size().columns, 40)
    return textwrap.fill(text, width, subsequent_indent="      ", break_long_words=False, break_on_hyphens=False)


def _check(words: argparse.Namespace) -> int:
    if len(words.specs) > 1:
        gc.enable()
    code = DONE
    wrong: list[Problem] = []
    for path in words.specs:
        try:
            findings = job.check(path, words.outside)
        except SpecError as error:
            wrong += error.problems
            continue
        deciding = sum(f.level == "decide" for f in findings)
        print(f"{path}: {_amount(deciding, 'finding')} to decide, {_amount(len(findings) - deciding, 'note')}")
        _tell_findings(findings)
        code = max(code, TO_DECIDE if deciding else DONE)
    if wrong:
        raise SpecError(wrong)
    return code


def _amount(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def _show(words: argparse.Namespace) -> int:
    _known(words.only, job.table_names(), "--only", "table")
    there = sys.stdout.isatty()
    width = min(max(shutil.get_terminal_size().columns, 40), SHOW_WIDTH) if there else SHOW_WIDTH
    print(job.show(words.spec, words.only, there, width, words.outside), end="")
    return DONE


def _new_spec(words: argparse.Namespace) -> int:
    job.new_spec(words.file, words.title, words.shop, words.units, words.kind, words.strings)
    if words.shop is not None:
        print(f"{words.shop}: what the shop owns; uncomment what you have")
    print(f"{words.file}: fill it in with the tools it names, then: templategen check {words.file}")
    return DONE


def _open(words: argparse.Namespace) -> int:
    from templategen.page.desk import Desk
    from templategen.page.server import serve

    gc.enable()
    at = Path(words.spec or ("specs" if Path("specs").is_dir() else "."))
    if not at.exists():
        raise SpecError([Problem((), "there is no such file or folder; check the path", file=str(at))])
    folder, spec = (at, None) if at.is_dir() else (at.parent, at.name)
    desk = Desk(folder, spec, Path(words.out), words.outside)
    serve(desk, words.port, not words.no_browser, lambda text: print(text, flush=True))
    return DONE


def _survey(words: argparse.Namespace) -> int:
    judged = job.survey(words.file, words.draft)
    for each in judged:
        print(_wrapped(("decide: " if each.level == "decide" else "") + each.message))
    if words.draft is not None:
        print(f"{words.draft}: look at every line marked not measured, then: templategen check {words.draft}")
    return DONE


def _new_survey(words: argparse.Namespace) -> int:
    survey, sheet = job.new_survey(words.file, words.title, words.frets, words.strings, words.paper)
    print(f"{sheet}: print it and measure, one page for each position at the bench")
    print(f"{survey}: write the readings in, then: templategen survey {survey}")
    return DONE


def _schema(words: argparse.Namespace) -> int:
    print(job.schema(words.of))
    return DONE


def _known(given: Sequence[str], known: Sequence[str], option: str, what: str) -> None:
    wrong = [word for word in given if word not in known]
    if wrong:
        raise SpecError(
            Problem((), f"no such {what}; there are: {', '.join(known)}", given=word, file=option) for word in wrong
        )


if __name__ == "__main__":
    run()
