"""What can do harm has one door: writing, strangers' XML and JSON, printing, the clock."""

import ast
from collections.abc import Iterator, Mapping

import pytest

WRITING_METHODS = frozenset(
    {
        "chmod",
        "hardlink_to",
        "lchmod",
        "mkdir",
        "rename",
        "rmdir",
        "symlink_to",
        "touch",
        "unlink",
        "write_bytes",
        "write_text",
    }
)
"""Of a path, whatever it is called."""
WRITING_CALLS = frozenset(
    {
        "chmod",
        "chown",
        "copy",
        "copy2",
        "copyfile",
        "copytree",
        "fchmod",
        "fdatasync",
        "fsync",
        "ftruncate",
        "link",
        "makedirs",
        "mkfifo",
        "mknod",
        "move",
        "remove",
        "removedirs",
        "renames",
        "replace",
        "rmtree",
        "symlink",
        "sync",
        "truncate",
        "utime",
        "write",
        "O_APPEND",
        "O_CREAT",
        "O_RDWR",
        "O_TRUNC",
        "O_WRONLY",
    }
)
"""Of `os` and `shutil`."""
CLOCKS = frozenset({"now", "today", "utcnow", "time", "time_ns", "localtime", "gmtime"})


def writes(tree: ast.Module) -> Iterator[str]:
    """Name everything that changes a file system."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute):
            of = node.value.id if isinstance(node.value, ast.Name) else ""
            if of in {"os", "shutil"} and node.attr in WRITING_CALLS | WRITING_METHODS:
                yield f"{of}.{node.attr}"
        if isinstance(node, ast.Call):
            yield from _writing_call(node)
        for name in imported(node):
            if name in {"tempfile", "mmap", "sqlite3"}:
                yield f"import {name}"


def _writing_call(node: ast.Call) -> Iterator[str]:
    if isinstance(node.func, ast.Attribute):
        name = node.func.attr
        if name in WRITING_METHODS:
            yield f".{name}()"
        # Of text `replace` takes two, of a date it takes keywords; of a path it takes one.
        if name == "replace" and len(node.args) == 1 and not node.keywords:
            yield ".replace()"
        of = node.func.value
        is_module = isinstance(of, ast.Name) and of.id in {"builtins", "codecs", "io", "os"}
        modes = node.args[1:2] if is_module else node.args[:1]
    elif isinstance(node.func, ast.Name):
        name = node.func.id
        modes = node.args[1:2]
    else:
        return
    if name in {"open", "fdopen"}:
        modes = [*modes, *(k.value for k in node.keywords if k.arg == "mode")]
        texts = [m.value for m in modes if isinstance(m, ast.Constant) and isinstance(m.value, str)]
        if any(set(text) & set("wax+") for text in texts if set(text) <= set("rwxabt+")):
            yield f"{name}()"


def imported(node: ast.AST) -> Iterator[str]:
    """Yield the top package of each import."""
    if isinstance(node, ast.Import):
        yield from (alias.name.partition(".")[0] for alias in node.names)
    if isinstance(node, ast.ImportFrom) and node.module:
        yield node.module.partition(".")[0]


def imports(tree: ast.Module) -> set[str]:
    return {name for node in ast.walk(tree) for name in imported(node)}


def prints(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and node.id in {"print", "input", "breakpoint"}:
            yield node.id
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            whole = f"{node.value.id}.{node.attr}"
            if whole in {"click.echo", "sys.stdout", "sys.stderr", "sys.exit", "os._exit"}:
                yield whole


def looks_at_a_clock(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr in CLOCKS:
            of = node.value.id if isinstance(node.value, ast.Name) else ast.unparse(node.value)
            if of.split(".")[-1] in {"datetime", "date", "time"}:
                yield f"{of}.{node.attr}"
        if isinstance(node, ast.ImportFrom) and node.module == "time":
            yield from (f"time.{a.name}" for a in node.names if a.name in CLOCKS)


# The house


def test_only_the_disk_writes(trees: Mapping[str, ast.Module]) -> None:
    found = {path: sorted(set(writes(tree))) for path, tree in trees.items()}
    assert {path: one for path, one in found.items() if one and path != "bag/disk.py"} == {
        # The null device alone: for output whose reader has left, and for a stream that is closed.
        "doors/cli/streams.py": ["os.O_RDWR", "os.O_WRONLY"],
    }
    assert {"os.fsync", "os.write", ".unlink()", ".mkdir()"} <= set(found["bag/disk.py"])


def test_xml_is_read_behind_one_door(trees: Mapping[str, ast.Module]) -> None:
    found = [p for p, tree in trees.items() if imports(tree) & {"lxml", "xml", "defusedxml"}]
    assert found == ["mapping/xml.py"]


def test_json_is_validated_behind_one_door(trees: Mapping[str, ast.Module]) -> None:
    found = [p for p, t in trees.items() if imports(t) & {"jsonschema", "referencing"}]
    assert found == ["mapping/schemas.py"]


def test_only_doors_print_and_exit(trees: Mapping[str, ast.Module]) -> None:
    found = {path for path, tree in trees.items() if list(prints(tree))}
    assert {path for path in found if not path.startswith("doors/")} == set()
    assert found


def test_only_doors_and_the_clock_look_at_the_time(trees: Mapping[str, ast.Module]) -> None:
    found = {path for path, tree in trees.items() if list(looks_at_a_clock(tree))}
    assert {path for path in found if not path.startswith("doors/")} == {"ground/clock.py"}


def test_nothing_is_checked_by_assertion(trees: Mapping[str, ast.Module]) -> None:
    # An assertion is gone where Python is told to optimise.
    found = [
        (path, node.lineno)
        for path, tree in trees.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Assert)
    ]
    assert found == []


def test_nothing_is_fetched_and_no_other_program_called(trees: Mapping[str, ast.Module]) -> None:
    network = {"socket", "urllib", "http", "ftplib", "smtplib", "ssl", "requests", "httpx"}
    running = {"subprocess", "multiprocessing", "pickle", "marshal", "shelve"}
    assert [p for p, tree in trees.items() if imports(tree) & network] == []
    # The one program that is called is this one itself, to decode what a stranger made.
    assert [p for p, tree in trees.items() if imports(tree) & running] == ["work/limited.py"]


# The tests themselves: what each must catch


@pytest.mark.parametrize(
    "text",
    [
        "open('a', 'w')",
        "open('a', mode='ab')",
        "path.open('r+b')",
        "path.open(mode='w')",
        "os.fdopen(3, 'w')",
        "io.open('a', 'x')",
        "path.write_text('x')",
        "path.mkdir()",
        "path.unlink()",
        "path.rename(other)",
        "path.replace(other)",
        "os.replace(a, b)",
        "os.remove(a)",
        "os.open(a, os.O_CREAT)",
        "shutil.rmtree(a)",
        "shutil.copyfile(a, b)",
        "import tempfile",
        "from tempfile import mkdtemp",
    ],
)
def test_what_counts_as_writing(text: str) -> None:
    assert list(writes(ast.parse(text)))


@pytest.mark.parametrize(
    "text",
    [
        "open('a')",
        "open('a', 'rb')",
        "path.open('rb')",
        "bag.open('data/a.wav')",
        "text.replace('a', 'b')",
        "instant.replace(microsecond=0)",
        "replace(record, path='a')",
        "os.open(a, os.O_RDONLY)",
        "names.remove('a')",
        "path.read_text()",
    ],
)
def test_what_does_not_count_as_writing(text: str) -> None:
    assert list(writes(ast.parse(text))) == []


@pytest.mark.parametrize(
    "text", ["print('x')", "click.echo('x')", "sys.stderr.write('x')", "sys.exit(1)", "input()"]
)
def test_what_counts_as_printing(text: str) -> None:
    assert list(prints(ast.parse(text)))


@pytest.mark.parametrize(
    "text",
    [
        "datetime.now(UTC)",
        "datetime.datetime.utcnow()",
        "date.today()",
        "time.time()",
        "seconds_now = time.time",
        "from time import time",
    ],
)
def test_what_counts_as_a_look_at_the_clock(text: str) -> None:
    assert list(looks_at_a_clock(ast.parse(text)))


def test_what_does_not_count_as_a_look_at_the_clock() -> None:
    text = "time.sleep(1)\ndatetime.fromisoformat(a)\nclock.now()\nentry.time\n"
    assert list(looks_at_a_clock(ast.parse(text))) == []


def test_what_counts_as_an_import() -> None:
    tree = ast.parse("import xml.etree.ElementTree as tree\nfrom lxml import etree\n")
    assert imports(tree) == {"xml", "lxml"}
    assert imports(ast.parse("from tailsout.mapping import xml")) == {"tailsout"}


def test_records_are_made_of_json_in_one_place(trees: Mapping[str, ast.Module]) -> None:
    """There one thread waits for the other."""
    making = {
        path
        for path, tree in trees.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and node.attr == "convert"
        if isinstance(node.value, ast.Name) and node.value.id == "msgspec"
    }
    assert making == {"mapping/plain.py"}
