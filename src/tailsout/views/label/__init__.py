"""Labels for box and spine of a reel: SVG 1.1, and PDF by `pdf`, in the size they are printed.

`assets` may hold `tag-manifest`: the name of a tag manifest with its digest, for the QR code.
"""

from collections.abc import Mapping

from markupsafe import Markup, escape

from tailsout.ground.findings import Finding
from tailsout.records.dossier import Dossier
from tailsout.views.label.layout import Label, Rule, Text, box, spine

TAG_MANIFEST = "tag-manifest"


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the label of the box as SVG."""
    del findings
    tag_manifest = assets.get(TAG_MANIFEST, b"").decode("utf-8", "replace")
    return drawn(box(dossier, tag_manifest))


def render_spine(
    dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]
) -> bytes:
    """Return the label of the spine as SVG."""
    del findings, assets
    return drawn(spine(dossier))


def drawn(label: Label) -> bytes:
    """Return a label as SVG, a unit being a millimetre."""
    size = Markup('width="{0}mm" height="{1}mm" viewBox="0 0 {0} {1}"').format(
        _figure(label.width), _figure(label.height)
    )
    parts = [
        Markup('<?xml version="1.0" encoding="utf-8"?>\n'),
        Markup('<svg xmlns="http://www.w3.org/2000/svg" {} role="img">\n').format(size),
        Markup("<title>{}</title>\n").format(escape(label.title)),
        Markup('<rect width="100%" height="100%" fill="#fff"/>\n'),
        *(_text(one) if isinstance(one, Text) else _rule(one) for one in label.items),
        Markup("</svg>\n"),
    ]
    return str(Markup().join(parts)).encode("utf-8", "backslashreplace")


def _text(one: Text) -> Markup:
    weight = Markup(' font-weight="bold"') if one.is_bold else Markup()
    return Markup(
        '<text x="{}" y="{}" font-size="{}" font-family="\'DejaVu Sans Mono\', \'Courier New\', '
        'monospace"{} xml:space="preserve">{}</text>\n'
    ).format(_figure(one.x), _figure(one.y), _figure(one.size), weight, one.words)


def _rule(one: Rule) -> Markup:
    # Of figures and words of ours alone, so nothing is escaped: a code has hundreds of these.
    x, y, width, height = map(_figure, (one.x, one.y, one.width, one.height))
    look = 'fill="#000"' if one.is_filled else 'fill="none" stroke="#000" stroke-width="0.3"'
    return Markup(f'<rect x="{x}" y="{y}" width="{width}" height="{height}" {look}/>\n')  # noqa: S704


def _figure(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")
