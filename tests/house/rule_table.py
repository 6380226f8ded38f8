"""Writes the table of rules into DEVELOPERS.md, from the rules themselves.

python tests/house/rule_table.py
"""

from pathlib import Path

from tailsout.rules import GROUPS, batch
from tailsout.rules.rule import Rule

DEVELOPERS = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"
START, END = "<!-- made by tests/house/rule_table.py -->\n", "<!-- end of the rules -->\n"
_MOST_CODES = 8
"""A rule of more kinds is told by its first few, and how many there are."""


def table() -> str:
    """Return the table as it should stand."""
    lines = ["| group | rule | codes | needs |", "|---|---|---|---|"]
    for group, rules in GROUPS.items():
        lines += [_line(group, rule) for rule in rules]
    codes = ", ".join(f"`{kind.code}`" for kind in batch.KINDS)
    lines.append(f"| batch | packages against each other (`rules/batch.py`) | {codes} | |")
    return "\n".join(lines) + "\n"


def _line(group: str, rule: Rule) -> str:
    listed = [f"`{kind.code}`" for kind in rule.kinds]
    shown = ", ".join(listed[:_MOST_CODES])
    rest = len(listed) - _MOST_CODES
    codes = f"{shown} and {rest} more" if rest > 0 else shown
    weighs = ", **decides**" if rule.decides else ""
    return f"| {group} | {rule.name} | {codes} | {', '.join(sorted(rule.needs))}{weighs} |"


def standing(page: str) -> str:
    """Return the table as a page holds it. Raises ValueError if it has no place for one."""
    return page[page.index(START) + len(START) : page.index(END)]


if __name__ == "__main__":
    text = DEVELOPERS.read_text("utf-8")
    DEVELOPERS.write_text(text.replace(START + standing(text), START + table()), "utf-8")
