"""The list of hostile cases: each has a test, and a case that has none has a reason.

A bags, B fetch.txt, C tar, D zip, J the side that builds. Those of A and B are bags in
`bag_cases.py`, unless only something that happens meanwhile, or a size, makes them; the others
are tests of the room they are about.
"""

import ast
import re
import runpy
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import pytest

TESTS = Path(__file__).resolve().parents[1]
table = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("bag_cases.py"))))

LENGTHS = {"A": 40, "B": 9, "C": 19, "D": 13, "J": 8}
EVERY = [f"{letter}{n:02}" for letter, count in LENGTHS.items() for n in range(1, count + 1)]

BAGS, TAR, ZIP = "outside/test_bag_cases.py", "bag/archive/test_tar.py", "bag/archive/test_zip.py"
OPEN, PACKED, UNPACK = (
    "bag/test_open.py",
    "bag/archive/test_packed.py",
    "bag/archive/test_unpack.py",
)
BUILD, DISK = "bag/test_build.py", "bag/test_disk.py"

LINKS = (TAR, "test_c02_to_c06_links_and_whatever_is_no_file")

ELSEWHERE: dict[str, list[tuple[str, str]]] = {
    "A13": [
        (BAGS, "test_a13_a_link_put_in_place_of_a_file"),
        ("bag/test_tree.py", "test_a_link_put_in_place_of_a_file_meanwhile"),
    ],
    "A14": [(BAGS, "test_a14_a_file_that_grows_while_it_is_read")],
    "A22": [(OPEN, "test_what_is_observed_at_a_limit")],
    "A23": [(OPEN, "test_a_bag_of_more_entries_than_are_read_lacks_nothing")],
    "A39": [(BAGS, "test_a39_what_another_user_may_not_read")],
    "C01": [(TAR, "test_c01_a_path_that_leads_out")],
    "C02": [LINKS, (TAR, "test_c02_what_a_link_would_be_written_through_is_a_name_like_any")],
    # No link is taken, so that a chain of them or one in place of a folder is refused at its first.
    "C03": [LINKS],
    "C04": [LINKS],
    "C05": [LINKS],
    "C06": [LINKS, (TAR, "test_c06_a_sparse_file_in_extended_records")],
    "C07": [
        (TAR, "test_c07_modes_owners_and_times_mean_nothing"),
        (UNPACK, "test_what_is_unpacked_is_what_was_packed"),
    ],
    "C08": [(TAR, "test_c08_two_members_in_each_others_way")],
    "C09": [
        (TAR, "test_c09_twins_are_asked_about"),
        (UNPACK, "test_c09_twins_that_are_listed_are_refused"),
    ],
    "C10": [
        (UNPACK, "test_c10_what_an_earlier_archive_left_is_not_entered"),
        (UNPACK, "test_c10_a_link_in_the_place_itself_is_not_followed"),
    ],
    "C11": [(TAR, "test_c11_a_size_that_cannot_be")],
    "C12": [(TAR, "test_c12_records_that_are_none")],
    "C13": [(TAR, "test_c13_a_header_of_a_gigabyte")],
    "C14": [(PACKED, "test_c14_a_bomb_is_not_set_off")],
    "C15": [(PACKED, "test_c15_an_xz_that_wants_too_much_memory")],
    "C16": [
        (TAR, "test_c16_what_stands_after_the_end_is_asked_about"),
        (TAR, "test_c16_a_checksum_that_does_not_fit"),
        (TAR, "test_c16_cut_at_any_octet_it_is_damaged"),
    ],
    "C17": [(TAR, "test_c17_too_many_members")],
    "C18": [(TAR, "test_c18_at_the_top_is_one_directory")],
    "C19": [(TAR, "test_c19_a_flip_between_files_is_seen_by_the_digest_beside_alone")],
    "D01": [(ZIP, "test_d01_d12_a_path_that_leads_out")],
    "D02": [(ZIP, "test_d02_a_bomb_is_not_set_off")],
    "D03": [
        (ZIP, "test_d03_two_entries_on_the_same_octets"),
        (ZIP, "test_d03_an_entry_quoted_by_the_one_before_it"),
    ],
    "D04": [(ZIP, "test_d04_a_size_that_is_not_so")],
    "D05": [(ZIP, "test_d05_directory_and_local_header_differ")],
    "D06": [
        (ZIP, "test_d06_what_stands_where_nothing_may"),
        (ZIP, "test_d06_a_64_bit_end_must_be_where_it_is_said_to_be"),
    ],
    "D07": [(ZIP, "test_d07_what_the_mode_says_it_is")],
    "D08": [(ZIP, "test_d08_two_members_in_each_others_way")],
    "D09": [(ZIP, "test_d09_what_is_encrypted_or_packed_otherwise")],
    "D10": [(ZIP, "test_d10_an_archive_inside_is_a_file_like_any")],
    "D11": [
        (ZIP, "test_d11_names_beyond_ascii"),
        (ZIP, "test_d11_a_zero_in_a_name_is_damage"),
    ],
    "D12": [(ZIP, "test_d01_d12_a_path_that_leads_out")],
    "D13": [
        (ZIP, "test_d13_cut_at_any_octet_it_is_not_read_as_whole"),
        (ZIP, "test_d13_octets_that_do_not_fit_their_crc32"),
        (ZIP, "test_d13_a_zip_of_nothing"),
    ],
    "J01": [(BUILD, "test_what_stands_there_is_not_touched")],
    "J02": [
        ("work/test_close_out.py", "test_the_destination_is_looked_at_before_anything_is_measured"),
        ("work/test_close_out.py", "test_a_link_to_the_job_is_the_job"),
    ],
    "J03": [
        (BUILD, "test_a_source_that_changed_its_length"),
        ("work/test_close_out.py", "test_a_capture_altered_in_place_while_it_is_read"),
        ("work/test_close_out.py", "test_a_capture_altered_behind_our_back_is_seen_by_its_samples"),
    ],
    "J04": [
        (BUILD, "test_another_build_that_is_running"),
        (BUILD, "test_what_comes_to_stand_there_meanwhile"),
    ],
    "J05": [
        (BUILD, "test_a_disk_that_fails_at_any_call"),
        (BUILD, "test_a_file_system_that_takes_no_more_files"),
        (BUILD, "test_a_limit_on_the_size_of_files"),
    ],
    "J06": [
        (BUILD, "test_octets_and_modes_do_not_depend_on_the_umask"),
        (BUILD, "test_octets_and_names_do_not_depend_on_the_locale"),
    ],
    "J07": [
        ("bag/test_resume.py", "test_what_is_finished_outlives_a_shutdown_and_not_an_interruption"),
        ("doors/test_streams.py", "test_a_close_with_streams_closed"),
        ("doors/test_cut_off.py", "test_a_shutdown_ends_in_order"),
    ],
    "J08": [
        (BUILD, "test_a_file_beyond_what_the_file_system_holds_is_refused_before_the_first_octet"),
        (BUILD, "test_what_a_file_system_cannot_promise_is_said"),
        (DISK, "test_a_file_system_without_the_rename_falls_back"),
    ],
}


@cache
def _tests_of(module: str) -> frozenset[str]:
    tree = ast.parse((TESTS / module).read_text("utf-8"))
    return frozenset(one.name for one in tree.body if isinstance(one, ast.FunctionDef))


def test_every_case_has_a_test() -> None:
    bags = {match[0] for case in table.CASES if (match := re.match(r"[AB][0-9]{2}", case.id))}
    assert sorted(bags | set(ELSEWHERE)) == EVERY


@pytest.mark.parametrize("case", sorted(ELSEWHERE))
def test_the_tests_named_are_there(case: str) -> None:
    assert [named for named in ELSEWHERE[case] if named[1] not in _tests_of(named[0])] == []
    assert ELSEWHERE[case]


def test_archives_and_their_numbers_go_together() -> None:
    """A test of an archive that has a number in its name stands under that number."""
    numbered = re.compile(r"test_([cd][0-9]{2})_")
    for module in (TAR, ZIP, PACKED, UNPACK):
        for name in _tests_of(module):
            if match := numbered.match(name):
                named = {one for one, _ in ELSEWHERE[match[1].upper()]}
                assert module in named, name
