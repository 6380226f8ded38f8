import re
import uuid
from datetime import UTC, datetime, timedelta, timezone

import pytest

from tailsout.ground.clock import derived_id, is_before, now, stamp
from tailsout.ground.errors import UsageError

JOB = "5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07"


def test_the_instant_is_that_of_source_date_epoch() -> None:
    instant = now({"SOURCE_DATE_EPOCH": "1764059400"})
    assert instant == datetime(2025, 11, 25, 8, 30, tzinfo=UTC)
    assert stamp(instant) == "2025-11-25T08:30:00Z"
    assert now({"SOURCE_DATE_EPOCH": "0"}) == datetime(1970, 1, 1, tzinfo=UTC)


def test_without_it_the_instant_is_now_in_whole_seconds() -> None:
    before = datetime.now(UTC)
    instant = now({})
    assert before - timedelta(seconds=1) <= instant <= datetime.now(UTC)
    assert instant.microsecond == 0
    assert instant.utcoffset() == timedelta(0)


@pytest.mark.parametrize(
    "text", ["", "soon", "-1", "1.5", " 1", "1_000", "٣", "1\n", "9" * 12, "9" * 5000]
)
def test_another_source_date_epoch_is_a_usage_error(text: str) -> None:
    with pytest.raises(UsageError, match="SOURCE_DATE_EPOCH"):
        now({"SOURCE_DATE_EPOCH": text})


def test_the_longest_source_date_epoch_fits_a_calendar() -> None:
    assert now({"SOURCE_DATE_EPOCH": "9" * 11}).year == 5138


def test_a_stamp_is_in_utc_whatever_the_zone() -> None:
    zone = timezone(timedelta(hours=5, minutes=45))
    assert stamp(datetime(2026, 1, 1, 3, 0, tzinfo=zone)) == "2025-12-31T21:15:00Z"


def test_derived_ids_are_version_5_and_depend_on_job_and_thing() -> None:
    one = derived_id(JOB, "file/data/audio/a.wav")
    assert uuid.UUID(one).version == 5
    assert one == derived_id(JOB, "file/data/audio/a.wav")
    assert one != derived_id(JOB, "file/data/audio/b.wav")
    assert one != derived_id("00000000-0000-4000-8000-000000000000", "file/data/audio/a.wav")
    assert re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", one)


def test_a_derived_id_by_the_published_example() -> None:
    # RFC 9562 §A.4: version 5, name space DNS, name www.example.com.
    assert derived_id("6ba7b810-9dad-11d1-80b4-00c04fd430c8", "www.example.com") == (
        "2ed6657d-e927-568b-95e1-2665a8aea6a2"
    )


# The order of dates


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("2026-03-14", "2026-03-15"),
        ("2025-12-31", "2026-01-01"),
        # with times
        ("2026-03-14T10:20:00", "2026-03-14T10:20:01"),
        ("2026-03-14T10:20", "2026-03-14T10:21"),
        ("2026-03-14T10:20:00Z", "2026-03-14T10:20:01Z"),
        # with offsets: the same instant counts, not the face of the clock
        ("2026-03-14T10:20:00+02:00", "2026-03-14T09:00:00Z"),
        ("2026-03-15T00:30:00+02:00", "2026-03-14T23:00:00Z"),
        # a date without a time
        ("2026-03-14", "2026-03-15T00:00:00Z"),
        ("2026-03-14T23:59:59Z", "2026-03-15"),
        # with and without an offset: only if two days lie between
        ("2026-03-14T10:20:00", "2026-03-16T10:20:00Z"),
        ("2026-03-14T10:20:00Z", "2026-03-16T00:00:00"),
    ],
)
def test_what_lies_surely_before(one: str, other: str) -> None:
    assert is_before(one, other)
    assert not is_before(other, one)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("2026-03-14", "2026-03-14"),
        ("2026-03", "2026-03-14"),
        ("2026", "2026-03-14T10:20:00"),
        ("2026", "2026-12"),
        ("2026-03-14T10:20:00", "2026-03-14T10:20:00"),
        ("2026-03-14T10:20:00+02:00", "2026-03-14T08:20:00Z"),
        ("2026-03-14", "2026-03-14T23:59:59Z"),
        ("2026-03-14T00:00", "2026-03-14"),
        ("2026-03-14T10:20:00", "2026-03-14T23:00:00Z"),
        ("2026-03-14T23:59:00", "2026-03-15T00:01:00Z"),
        ("2026-03-14T00:00:00Z", "2026-03-15T23:59:59"),
    ],
)
def test_what_cannot_be_told_apart(one: str, other: str) -> None:
    assert not is_before(one, other)
    assert not is_before(other, one)
