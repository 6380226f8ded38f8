"""One row for a catalogue (RFC 4180), safe to open in a spreadsheet."""

import csv
import io
from decimal import Decimal
from pathlib import Path

from tailsout.bag.open import open_bag
from tailsout.records.dossier import Dossier
from tailsout.records.reel import Equalisation, Reel, Region, Side, StockSection
from tailsout.records.transfer import Studio, Transfer
from tailsout.views import inventory
from tailsout.work.package import read_package

PACKAGE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"


def read(dossier: Dossier) -> dict[str, str]:
    content = inventory.render(dossier, (), {})
    heads, cells = csv.reader(io.StringIO(content.decode("utf-8"), newline=""))
    return dict(zip(heads, cells, strict=True))


def stated(title: str) -> Dossier:
    region = Region(
        id="r",
        kind="programme",
        capture="a",
        start=0,
        speed_ips=Decimal("3.75"),
        equalisation=Equalisation(standard="IEC1", t2_us=Decimal(90)),
    )
    reel = Reel(
        title=title,
        stock=(StockSection(id="s", base="polyester"), StockSection(id="t", base="polyester")),
        sides=(Side(id="A", regions=(region, region)),),
    )
    transfer = Transfer(job_id="j", package_id="SKL-0007", studio=Studio(), reel=reel)
    return Dossier(origin="received", transfer=transfer)


def test_a_kept_package_in_one_row() -> None:
    with open_bag(PACKAGE) as bag:
        row = read(read_package(bag))
    assert row["package"] == "SKL-0008"
    assert row["identifier"] == "HA/SKL/8; SKL-0008"
    assert (row["bases"], row["speeds_ips"]) == ("PVC; polyester", "7.5; 3.75")
    assert (row["audio_files"], row["durations"]) == ("2", "0:00.600; 0:00.500")
    assert row["made"] == "2026-03-15T08:00:00Z"


def test_what_is_alike_is_told_once() -> None:
    row = read(stated("Log"))
    assert (row["bases"], row["speeds_ips"], row["sides"]) == ("polyester", "3.75", "1")
    assert row["equalisations"] == "IEC1 90 us"


def test_no_cell_is_a_formula() -> None:
    for sign in "=+-@":
        assert read(stated(f"{sign}HYPERLINK(1)"))["title"] == f"'{sign}HYPERLINK(1)"


def test_a_cell_with_signs_of_its_own_is_read_back() -> None:
    assert read(stated('a "log", and\nmore'))["title"] == 'a "log", and more'


def test_lines_end_as_the_standard_wants() -> None:
    content = inventory.render(stated("Log"), (), {})
    assert content.count(b"\r\n") == content.count(b"\n") == 2


def test_nothing_known_is_a_row_too() -> None:
    row = read(Dossier(origin="received"))
    assert (row["package"], row["title"], row["audio_files"]) == ("package", "package", "0")


def test_text_of_strangers_is_text(hostile: Dossier) -> None:
    content = inventory.render(hostile, (), {}).decode("utf-8")
    assert content.replace("\r\n", "").isprintable()


def test_what_it_leaves_out_is_told() -> None:
    assert len(inventory.lost(stated("Log"))) == 3
