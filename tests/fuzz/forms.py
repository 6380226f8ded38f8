"""Mutates the forms of a job and its studio, and holds `gate`, `close` and `check` to promises.

    python tests/fuzz/forms.py --inputs 10000 --seed 1
    python tests/fuzz/forms.py --seconds 20
    python tests/fuzz/forms.py --seed 1 --only 4711

Input n of a seed is always the same forms. Whatever somebody types, it is taken or told to be at
fault, by where it stands; and what is closed is a package that passes. The first broken promise
stops it: `--only` shows that input again.
"""

import random
import re
import runpy
import shutil
import tempfile
from collections import Counter
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import rounds
from rounds import promise

from tailsout.ground.errors import TailsoutError
from tailsout.ground.findings import Finding, Verdict
from tailsout.ground.progress import Silent
from tailsout.mapping.forms.blank import blank
from tailsout.work.check import check
from tailsout.work.close_out import close
from tailsout.work.gate import gates

SAMPLES = Path(__file__).parents[1] / "samples"
remake: Any = SimpleNamespace(**runpy.run_path(str(SAMPLES / "remake.py"), run_name="remake"))
"""The script that closes out the sample packages."""
Forms = Mapping[str, str]
"""Texts, by path below the folder that holds job and studio."""
SAMPLE = SAMPLES / "skerrow-light"
SCHEMAS = (
    *(("job.toml", "job-0.1"), ("studio.toml", "studio-0.1"), ("people.toml", "people-0.1")),
    *(("machines/", "machine-0.1"), ("converters/", "converter-0.1")),
    *(("calibration_tapes/", "calibration-tape-0.1"), ("sessions/", "session-0.1")),
    ("recipients/", "recipient-0.1"),
)
"""Which schema a form is of, by what its path holds."""
WORDS = frozenset({"faults told", "refused", "closed"})
VALUES = (
    *('""', '" "', '"unknown"', '"not applicable"', '"withheld"', '"none found"', '"a"', "true"),
    *("0", "-1", "1", "3", "7.5", "1e400", "nan", "-inf", "9" * 30, "0.000001", "[]", "{}", "[[]]"),
    *("2026-03-14", "2026-03-14T10:00:00Z", "2026-03-14T10:00:00", "10:00:00", "1900-01-01"),
    *('"2026-03-14"', '"1961~"', '"196X/.."', '"../x"', '"/etc/passwd"', '"A"', '"side-a"', '"s1"'),
    *('"captures/skl8-side-a.wav"', '["a", "a"]', '["unknown"]', '[""]', "[1, 'a']", '"0:00.3"'),
    *(f'"{"n" * 3000}"', '"7½"', '"7,5"', '"a\\nb"', '"\\u202e"', "'''\na\nb'''", "'\x1b[2J'"),
    *('{ standard = "NAB" }', "{ a = 1 }", '"harbour-archive"', '"mk3-left"', '"e\u0301"', '"🜁"'),
)
OCTETS = ("\0", "\ufeff", "\r", "\r\n", '"', "[", "]]", "=", "#", "\\", "\t", "é", "\ud800", "\n")
_HEADER = re.compile(r"\[\[?[^\[\]]+\]\]?")


@cache
def seed_forms() -> Forms:
    """The forms of the first sample package."""
    paths = (path for path in sorted(SAMPLE.rglob("*")) if path.is_file())
    return {path.relative_to(SAMPLE).as_posix(): path.read_text(encoding="utf-8") for path in paths}


@cache
def offered(schema: str) -> tuple[tuple[str, str], ...]:
    """Return each line that a blank form offers, after the header of its table."""
    table, found = "", []
    needed = {"job_id": "", "package_id": ""} if schema == "job-0.1" else {}
    for line in blank(schema, needed).splitlines():
        said = line.removeprefix("#")
        if said.startswith(" ") or not said:
            continue
        if _HEADER.fullmatch(said):
            table = said
        elif " = " in said:
            found.append((table, said))
    return tuple(found)


# Mutations: of keys, of values, of lines, of characters


def draw(chance: random.Random) -> Forms:
    """Make one input."""
    forms = dict(seed_forms())
    for _ in range(chance.choice((1, 1, 2, 3, 5))):
        # The job's form is what people type every evening.
        path = chance.choice((*forms, *("job/job.toml",) * len(forms)))
        lines = forms[path].split("\n")
        match chance.randrange(8):
            case 0 | 1:
                _offer(lines, path, chance)
            case 2 | 3:
                _revalue(lines, chance.choice(VALUES), chance)
            case 4:
                _revalue(lines, chance.choice(lines).partition(" = ")[2] or "1", chance)
            case 5:
                del lines[chance.randrange(len(lines))]
            case 6:
                lines.insert(chance.randrange(len(lines) + 1), chance.choice(lines))
            case _:
                lines = [_spoilt("\n".join(lines), chance)]
        forms[path] = "\n".join(lines)
    if chance.randrange(30) == 0:
        del forms[chance.choice(list(forms))]
    return forms


def _offer(lines: list[str], path: str, chance: random.Random) -> None:
    """Add a key that the blank form offers, in its table or in a new one."""
    schema = next((schema for part, schema in SCHEMAS if part in path), None)
    if schema is None:
        return
    table, line = chance.choice(offered(schema))
    if chance.randrange(3) == 0:
        line = f"{line.partition(' = ')[0]} = {chance.choice(VALUES)}"
    there = [at for at, one in enumerate(lines) if one == table]
    if not table:
        lines.insert(0, line)
    elif there:
        lines.insert(chance.choice(there) + 1, line)
    else:
        lines += [table, line]


def _revalue(lines: list[str], value: str, chance: random.Random) -> None:
    """Give a key another value."""
    stated = [at for at, line in enumerate(lines) if " = " in line]
    if stated:
        at = chance.choice(stated)
        lines[at] = f"{lines[at].partition(' = ')[0]} = {value}"


def _spoilt(text: str, chance: random.Random) -> str:
    at = chance.randrange(len(text) + 1)
    if chance.randrange(2):
        return text[:at] + chance.choice(OCTETS) + text[at:]
    return text[:at] + text[at + chance.choice((1, 1, 2, 30)) :]


def input_of(seed: int, number: int) -> Forms:
    """Return one input of a campaign."""
    return draw(rounds.chance(seed, number))


# What is promised of any forms whatever


@cache
def _sound() -> tuple[tuple[str, bytes], ...]:
    """Return the captures of the job, which are never mutated."""
    return tuple(
        (stem, remake.capture(hour, b"".join(remake.sound(stretches, seed=number))))
        for number, (stem, hour, stretches) in enumerate(remake.GOOD[0].captures)
    )


def judge_forms(forms: Forms, place: Path) -> Counter[str]:
    """Ask the gate, plan, close and check a job by its forms; return what it came to.

    Raises BrokenPromiseError, or whatever should not have been raised.
    """
    with tempfile.TemporaryDirectory(dir=place) as folder:
        job, packages = _laid_out(forms, Path(folder)), Path(folder) / "packages"
        try:
            for gate in gates(job, None, remake.around()):
                _are_told(gate.findings)
            planned = close(job, packages, remake.around(), only_plan=True)
            _are_told(planned.judgement.findings)
            promise(not packages.exists(), "a plan writes nothing")
            closed = close(job, packages, remake.around()) if planned.plan is not None else planned
        except TailsoutError as error:
            promise(str(error).isprintable(), "what is refused can be printed")
            return Counter({"refused": 1})
        for stem, octets in _sound():
            left = (job / "captures" / f"{stem}.wav").read_bytes()
            promise(left == octets, "a capture is as it was")
        if closed.built is None:
            stops = closed.judgement.verdict in {Verdict.FAIL, Verdict.REFUSED}
            promise(stops, "what stops it is told")
            return Counter({"faults told" if closed is planned else "stopped later": 1})
        checked = check(closed.built.path, Silent())
        _are_told(checked.judgement.findings)
        promise(checked.judgement.verdict in {Verdict.PASS, Verdict.OPEN}, "what is closed passes")
        return Counter({"closed": 1})


def _laid_out(forms: Forms, folder: Path) -> Path:
    for name, text in forms.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(text.encode("utf-8", "surrogatepass"))
    captures = folder / "job" / "captures"
    captures.mkdir(parents=True)
    for stem, octets in _sound():
        path = captures / f"{stem}.wav"
        path.write_bytes(octets)
        remake.age(path)
    return folder / "job"


def _are_told(findings: Iterable[Finding]) -> None:
    for one in findings:
        promise(one.text.isprintable() and str(one.place).isprintable(), "a finding can be printed")
        promise(one.text.strip() and one.place.file, "a finding says what and where")


# The campaign


def run(seed: int, *, inputs: int, seconds: float) -> rounds.Report:
    """Judge inputs until there were so many, or the time is up."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        return rounds.run(
            seed, input_of, lambda one: judge_forms(one, place), inputs=inputs, seconds=seconds
        )


def _show(seed: int, number: int) -> None:
    place = Path(tempfile.mkdtemp())
    forms = input_of(seed, number)
    _laid_out(forms, place)
    print(place)
    shutil.rmtree(place / "job" / "captures")
    print(dict(judge_forms(forms, place)))


if __name__ == "__main__":
    rounds.main("sets of forms", run, _show, WORDS)
