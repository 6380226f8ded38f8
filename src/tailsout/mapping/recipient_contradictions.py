"""Where a recipient's form asks for what it forbids, or for what no side-car can say."""

from collections.abc import Iterable, Iterator

from tailsout.ground.units import printable
from tailsout.mapping import embedded_texts, key_paths
from tailsout.mapping.names.fields import Fault, Field
from tailsout.mapping.names.template import pieces_of
from tailsout.mapping.names.values import RESTS_ON
from tailsout.records.recipient import Recipient

Told = tuple[str, str]
"""JSON pointer into the form, and one sentence."""

BEXT_TEXTS = ("Description", "Originator", "OriginatorReference")
"""Fields of bext that hold free text (EBU Tech 3285 v2 §2.3)."""
_ALWAYS_TOLD = frozenset({"captures", "recipient"})
"""Without these a side-car says neither what it is about nor what it was asked."""
_RESTS_ON = {
    "images": "reel.images",
    "listening_sample": "listening",
    "house_rule_end_out": "reel.end_out_on_leaving",
    "care_intervals": "machines[].hours_since",
}
"""What the form can ask for elsewhere, and the key that answers it."""


def unknown(form: Recipient) -> Iterator[Told]:
    """Yield every key and word that the vocabulary of the side-car does not have."""
    for pointer, key in _keys(form):
        if not key_paths.is_known(key):
            near = key_paths.nearest(key)
            hint = f"; did you mean {near!r}?" if near else "."
            yield pointer, f"the side-car has no key {printable(key, 200)!r}{hint}"
    for n, wanted in enumerate(form.embedded):
        fault = embedded_texts.fault_of(wanted.text)
        if fault:
            yield f"/embedded/{n}/text", fault
    for t, one in enumerate(form.terms):
        known = key_paths.words_of(one.key) if key_paths.is_known(one.key) else ()
        for w, word in enumerate(one.words if known else ()):
            if word not in known:
                text = f"the side-car has no word {printable(word)!r} for {one.key}"
                yield f"/terms/{t}/words/{w}", f"{text}; known: {', '.join(known)}."


def contradictions(form: Recipient) -> Iterator[Told]:
    """Yield each contradiction within a form."""
    yield from _asked(form)
    yield from _terms(form)
    yield from _withheld(form)
    yield from _roles(form)
    yield from _texts(form)
    yield from _filled(form)
    yield from _files(form)


def _keys(form: Recipient) -> Iterator[Told]:
    yield from ((f"/asked/{n}/key", one.key) for n, one in enumerate(form.asked))
    yield from ((f"/terms/{n}/key", one.key) for n, one in enumerate(form.terms))
    yield from ((f"/withheld/{n}", key) for n, key in enumerate(form.withheld))


def _asked(form: Recipient) -> Iterator[Told]:
    yield from _twice("/asked", "key", (one.key for one in form.asked))
    empty = {one.key for one in form.terms if not one.words}
    for n, one in enumerate(form.asked):
        cover = _covering(one.key, form.withheld)
        if cover and "withheld" not in one.absences:
            text = f"it is {one.level}, and {cover!r} in withheld must not travel."
            yield f"/asked/{n}/key", text
        if one.key in empty and not one.absences:
            yield f"/asked/{n}/key", f"it is {one.level}, and its list in terms has no word."


def _terms(form: Recipient) -> Iterator[Told]:
    yield from _twice("/terms", "key", (one.key for one in form.terms))
    asked = {one.key for one in form.asked}
    for n, one in enumerate(form.terms):
        if not one.words and one.key not in asked:
            yield f"/terms/{n}/words", "it lists no word, so that nothing can stand there."
        if key_paths.is_known(one.key) and not key_paths.is_plain(one.key):
            text = f"{one.key!r} is a table, and words are for single values."
            yield f"/terms/{n}/key", text


def _withheld(form: Recipient) -> Iterator[Told]:
    yield from _twice("/withheld", "", form.withheld)
    for n, key in enumerate(form.withheld):
        if not key_paths.is_known(key):
            continue
        if key in _ALWAYS_TOLD or not key_paths.may_be_left_out(key) or key.endswith("[]"):
            yield f"/withheld/{n}", f"{key!r} stands in every side-car and cannot be left out."
    for name, key in _RESTS_ON.items():
        cover = _covering(key, form.withheld)
        if cover and getattr(form, name) not in (None, ()):
            yield f"/{name}", f"{key!r} would answer it, and {cover!r} in withheld must not travel."


def _roles(form: Recipient) -> Iterator[Told]:
    yield from _twice("/roles", "role", (one.role for one in form.roles))
    seen: dict[tuple[str, str], str] = {}
    for n, one in enumerate(form.roles):
        place = (one.folder or "", (one.suffix or "").casefold())
        if one.folder and place in seen:
            text = f"{seen[place]} and {one.role} have one folder and one suffix."
            yield f"/roles/{n}/folder", text
        seen.setdefault(place, one.role)
        is_lower = form.names is not None and form.names.allowed == "lower-case portable"
        if is_lower and one.suffix and one.suffix != one.suffix.lower():
            text = f"{one.suffix!r} has capitals, and names.allowed is lower-case portable."
            yield f"/roles/{n}/suffix", text


def _texts(form: Recipient) -> Iterator[Told]:
    fields = [(one.chunk, one.field) for one in form.embedded]
    yield from _twice("/embedded", "field", (f"{chunk} {field}" for chunk, field in fields))
    info = {one.id for one in form.info}
    for n, (chunk, field) in enumerate(fields):
        pointer = f"/embedded/{n}/field"
        if chunk == "bext" and field not in BEXT_TEXTS:
            yield (
                pointer,
                f"bext has no field {field!r} for a text; it has {', '.join(BEXT_TEXTS)}.",
            )
        if chunk == "INFO" and not (len(field) == 4 and field == field.upper()):
            yield pointer, f"{field!r} is not an id of an INFO entry: four capitals or digits."
        if chunk == "INFO" and field in info:
            yield pointer, f"{field} stands in info too."
        if (chunk, field) == ("bext", "Originator") and form.originator is not None:
            yield pointer, "originator says another text for it."


def _filled(form: Recipient) -> Iterator[Told]:
    """Yield every template with a field that would let travel what must not."""
    texts = [(f"/embedded/{n}/text", one.text) for n, one in enumerate(form.embedded)]
    if form.names is not None and form.names.template is not None:
        texts.append(("/names/template", form.names.template))
    for pointer, text in texts:
        read = pieces_of(text)
        for piece in () if isinstance(read, Fault) else read[0]:
            key = RESTS_ON.get(piece.word) if isinstance(piece, Field) else None
            cover = _covering(key, form.withheld) if key is not None else ""
            if cover:
                yield pointer, f"it is made of {key!r}, and {cover!r} in withheld must not travel."


def _files(form: Recipient) -> Iterator[Told]:
    overlap, names, drive = form.overlap, form.names, form.drive
    if overlap is not None and not overlap.at:
        yield "/overlap/at", "it names no place, so that nothing is asked."
    if overlap is not None and "speed change" in overlap.at and form.stop_at_speed_change is False:
        text = "an overlap is asked at a speed change, and stop_at_speed_change is false: one file."
        yield "/overlap/at", text
    sample = form.listening_sample
    if sample is not None and sample.seconds is not None and not sample.positions:
        yield "/listening_sample/seconds", "positions does not say where so much is to be heard."
    longest = names.max_length if names is not None else None
    room = drive.max_path_octets if drive is not None else None
    if longest is not None and room is not None and longest >= room:
        yield "/names/max_length", f"drive.max_path_octets takes no path with a name of {longest}."


def _twice(pointer: str, key: str, values: Iterable[str]) -> Iterator[Told]:
    seen = set()
    for index, value in enumerate(values):
        if value in seen:
            at = f"{pointer}/{index}/{key}".removesuffix("/")
            yield at, f"{printable(value, 200)!r} stands twice."
        seen.add(value)


def _covering(key: str, withheld: Iterable[str]) -> str:
    """Return the withheld key that takes a key along; empty if it may travel."""
    plain = key.replace("[]", "")
    for one in withheld:
        cover = one.replace("[]", "")
        if plain == cover or plain.startswith(f"{cover}."):
            return one
    return ""
