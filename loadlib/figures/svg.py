"""From a drawn figure to the SVG text that goes out.

matplotlib writes style attributes, ids that repeat from figure to figure, and metadata. Here
styles become presentation attributes and classes (so a page can forbid inline styles and give
dark colours), ids are kept where something refers to them and are made the figure's own, and
title and description are put in.
"""

from __future__ import annotations

import io
import re
import unicodedata
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from loadlib.errors import InputError
from loadlib.figures.theme import CSS, PAPER, light, role_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["canvas", "clean", "shortened", "standalone", "svg_text"]

_HREF = "{http://www.w3.org/1999/xlink}href"
_REFERENCE = re.compile(r"url\(#([^)]+)\)")
_PLACE = re.compile(r"@(\d+)")
_NUMBER = re.compile(r"-?\d+\.\d+")
_DROPPED = ("metadata", "style", "title", "desc")

_RC: dict[Any, Any] = {
    "svg.hashsalt": "loadlib",
    "svg.fonttype": "none",
    "font.family": ["DejaVu Sans"],  # ships with matplotlib, so that spacing is the same anywhere
    "font.size": 11.0,
    "axes.edgecolor": light("muted"),
    "axes.facecolor": "none",
    "axes.labelcolor": light("ink"),
    "axes.linewidth": 0.8,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "axes.axisbelow": True,
    "figure.dpi": 72.0,
    "figure.facecolor": "none",
    "grid.color": light("rule"),
    "grid.linewidth": 0.8,
    "hatch.color": light("ink"),
    "hatch.linewidth": 0.8,
    "savefig.facecolor": "none",
    "text.color": light("ink"),
    "text.parse_math": False,
    "xtick.color": light("muted"),
    "xtick.labelcolor": light("ink"),
    "ytick.color": light("muted"),
    "ytick.labelcolor": light("ink"),
}

SIZES = {"wide": 640.0, "narrow": 330.0}


@contextmanager
def canvas(size: str, height: float) -> Iterator[tuple[Figure, Axes]]:
    """A figure of our look, ``SIZES[size]`` by ``height`` px; nobody's own settings count."""
    if size not in SIZES:
        raise InputError(f"figure size {size!r}", hint="One of: " + ", ".join(SIZES) + ".")
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_RC)
        figure = Figure(figsize=(SIZES[size] / 72.0, height / 72.0), layout="constrained")
        yield figure, figure.subplots()


def svg_text(
    figure: Figure, *, key: str, title: str, description: str, names: Sequence[str] = ()
) -> str:
    """The figure as one ``<svg>`` element; call it inside ``canvas``.

    A drawn text ``@3`` becomes ``names[3]``: names never reach matplotlib, which has neither
    all letters nor a way to keep markup as text.
    """
    drawn = io.BytesIO()
    figure.savefig(drawn, format="svg", metadata={"Date": None})
    root = ET.fromstring(drawn.getvalue())
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
        if element.tag == "text" and element.text and (place := _PLACE.fullmatch(element.text)):
            element.text = clean(names[int(place[1])])
    _drop(root)
    for element in root.iter():
        _plain_attributes(element)
    _own_ids(root, key)
    _unwrap(root)
    for element in root.iter():
        _short_numbers(element)
    _head(root, key, clean(title), clean(description))
    return ET.tostring(root, encoding="unicode")


def standalone(svg: str) -> str:
    """An ``<svg>`` of this package as a file: XML head, paper, and dark colours on request."""
    css = f"{CSS}@media screen and (prefers-color-scheme:dark){{.paper{{fill:{PAPER[1]}}}}}"
    paper = (
        f'<style>{css}</style><rect class="paper" width="100%" height="100%" fill="{PAPER[0]}"/>'
    )
    # The paper comes after title and description, which must be the first children.
    head = svg.index("</desc>") + len("</desc>")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{svg[:head]}{paper}{svg[head:]}\n'


def clean(text: str) -> str:
    """The text without control characters and lone surrogates, which XML can't hold."""
    return "".join("\ufffd" if unicodedata.category(c) in ("Cc", "Cs") else c for c in text)


def shortened(text: str, most: int) -> str:
    """At most ``most`` characters; the rest becomes an ellipsis."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _drop(parent: ET.Element) -> None:
    for child in list(parent):
        _drop(child)
        if child.tag in _DROPPED or (child.tag in ("g", "defs") and len(child) == 0):
            parent.remove(child)


def _plain_attributes(element: ET.Element) -> None:
    classes = []
    for declaration in filter(None, (element.attrib.pop("style", "") or "").split(";")):
        name, _, value = (part.strip() for part in declaration.partition(":"))
        if name == "font":
            name, value = "font-size", value.split("px")[0].split()[-1]
        if name in ("font-family", "stroke-linejoin", "stroke-miterlimit"):
            continue
        element.set(name, value.removesuffix("px") if name == "font-size" else value)
    for name, prefix in (("fill", "ll-f-"), ("stroke", "ll-s-")):
        role = role_of(element.get(name, ""))
        if role is not None:
            classes.append(prefix + role)
    if classes:
        element.set("class", " ".join(classes))
    if element.tag == "text" and element.get("transform", "").startswith("rotate(-0"):
        del element.attrib["transform"]


def _own_ids(root: ET.Element, key: str) -> None:
    """Ids that something refers to, renamed by the order of the document; others removed."""
    used: dict[str, str] = {}
    for element in root.iter():
        if _HREF in element.attrib:
            element.set("href", element.attrib.pop(_HREF))
        for value in element.attrib.values():
            found = _REFERENCE.search(value) or re.fullmatch(r"#(.+)", value)
            if found and not re.fullmatch(r"#[0-9a-fA-F]{6}", value):
                used.setdefault(found[1], f"{key}-{len(used)}")
    for element in root.iter():
        name = element.attrib.pop("id", None)
        if name in used:
            element.set("id", used[name])
        for attribute, value in element.attrib.items():
            if attribute == "href":
                element.set("href", "#" + used[value[1:]])
            else:
                element.set(attribute, _REFERENCE.sub(lambda m: f"url(#{used[m[1]]})", value))


def _unwrap(parent: ET.Element) -> None:
    """Children of groups that say nothing take their group's place; white space goes."""
    children: list[ET.Element] = []
    for child in parent:
        _unwrap(child)
        child.tail = None
        children += child if child.tag == "g" and not child.attrib else [child]
    if len(parent) or not (parent.text or "").strip():
        parent.text = None
    parent[:] = children


def _short_numbers(element: ET.Element) -> None:
    """Coordinates to a hundredth of a pixel."""
    for name in ("d", "x", "y", "width", "height", "transform"):
        if name in element.attrib:
            text = _NUMBER.sub(
                lambda m: f"{float(m[0]):.2f}".rstrip("0").rstrip("."), element.get(name, "")
            )
            element.set(name, " ".join(text.split()))


def _head(root: ET.Element, key: str, title: str, description: str) -> None:
    box = root.get("viewBox", "0 0 0 0")
    _, _, width, height = box.split()
    root.attrib.clear()
    root.attrib.update(
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "class": "ll-figure",
            "role": "img",
            "aria-labelledby": f"{key}-title {key}-desc",
            "viewBox": box,
            "width": width,
            "height": height,
            "font-family": "sans-serif",
            "stroke-linejoin": "round",
        }
    )
    for place, (tag, text) in enumerate((("title", title), ("desc", description))):
        element = ET.Element(tag, {"id": f"{key}-{tag}"})
        element.text = text
        root.insert(place, element)
