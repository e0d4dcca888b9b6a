"""Holds a chart of lot-plot's to what any chart must be, by the standard library's parser (expat).

usage: check_chart.py CHART.svg

It is well-formed; an SVG image with a title and a description; of elements and attributes that draw, and no
others: nothing runs, nothing is fetched; its texts hold no controls and no marks of direction; and its numbers
stand within the frame. Texts keep apart and within the frame, too, if each cell of a character (wcwidth, or
one where that is not here) takes 0.6 em, as in the usual fonts of one width. Prints how many texts it has.
"""

import math
import re
import sys
import unicodedata
import xml.etree.ElementTree as ET

try:
    from wcwidth import wcwidth
except ImportError:
    def wcwidth(_):
        return 1

SVG = "{http://www.w3.org/2000/svg}"
ELEMENTS = {"svg", "title", "desc", "style", "g", "rect", "line", "path", "text"}
ATTRIBUTES = {"class", "role", "aria-label", "width", "height", "viewBox", "font-family", "font-size", "fill",
              "stroke", "stroke-width", "stroke-linejoin", "stroke-dasharray", "x", "y", "x1", "y1", "x2", "y2", "d",
              "text-anchor", "transform"}
EM, ASCENT, DESCENT = 0.6, 0.95, 0.25


def fail(what):
    raise SystemExit(f"check_chart.py: {what}")


def check_text(text):
    for c in text or "":
        kind = unicodedata.category(c)
        if c != "\n" and (kind in ("Cc", "Cs", "Zl", "Zp") or (kind == "Cf" and c not in "\u200c\u200d")):
            fail(f"U+{ord(c):04X} in a text")


def box_of(text, size):
    shown = "".join([text.text or ""] + [child.tail or "" for child in text])
    width = EM * size * sum(max(wcwidth(c), 0) for c in shown)
    x, y = float(text.get("x")), float(text.get("y"))
    left = x - {"start": 0, "middle": width / 2, "end": width}[text.get("text-anchor", "start")]
    corners = [(left, y - ASCENT * size), (left + width, y - ASCENT * size),
               (left + width, y + DESCENT * size), (left, y + DESCENT * size)]
    turn = re.fullmatch(r"rotate\((\S+) (\S+) (\S+)\)", text.get("transform", "rotate(0 0 0)"))
    angle, cx, cy = (float(part) for part in turn.groups())
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return shown, [(cx + (px - cx) * cos - (py - cy) * sin, cy + (px - cx) * sin + (py - cy) * cos)
                   for px, py in corners]


def apart(a, b):
    for shape in (a, b):
        for (px, py), (qx, qy) in zip(shape, shape[1:] + shape[:1]):
            nx, ny = qy - py, px - qx
            one, other = ([x * nx + y * ny for x, y in s] for s in (a, b))
            if max(one) < min(other) or max(other) < min(one):
                return True
    return False


def check_boxes(root, width, height):
    boxes = []

    def walk(element, size):
        size = float(element.get("font-size", size))
        if element.tag == SVG + "text":
            boxes.append(box_of(element, size))
        for child in element:
            walk(child, size)

    walk(root, 16)
    for i, (shown, shape) in enumerate(boxes):
        if any(x < 0 or y < 0 or x > width or y > height for x, y in shape):
            fail(f"{shown!r} leaves the frame")
        for other, its in boxes[:i]:
            if not apart(shape, its):
                fail(f"{shown!r} touches {other!r}")
    return len(boxes)


def check_places(root, width, height):
    for element in root.iter():
        x, y = float(element.get("x", 0)), float(element.get("y", 0))
        if element.tag == SVG + "rect":
            if x < 0 or y < 0 or x + float(element.get("width")) > width or \
                    y + float(element.get("height")) > height:
                fail("a bar leaves the frame")
        path = element.get("d", "")
        if re.search(r"[^-MLlhz0-9. ]", path):
            fail(f"a path {path!r}")
        for px, py in re.findall(r"[ML]([-0-9.]+) ([-0-9.]+)", path):
            if not (0 <= float(px) <= width and 0 <= float(py) <= height):
                fail(f"a line leaves the frame at {px} {py}")


def main(path):
    with open(path, "rb") as file:
        data = file.read()
    root = ET.fromstring(data)
    if root.tag != SVG + "svg" or root.get("role") != "img":
        fail("no SVG image")
    if [child.tag for child in root[:2]] != [SVG + "title", SVG + "desc"] or not root[0].text or not root[1].text:
        fail("no title and description")
    if root.get("aria-label") != root[0].text:
        fail("the label is not the title")
    for element in root.iter():
        if not element.tag.startswith(SVG) or element.tag[len(SVG):] not in ELEMENTS:
            fail(f"an element {element.tag}")
        if set(element.keys()) - ATTRIBUTES:
            fail(f"attributes {sorted(set(element.keys()) - ATTRIBUTES)}")
        if any(re.search(r"url|javascript|expression|@import", element.get(name), re.I)
               for name in ATTRIBUTES - {"aria-label"} if element.get(name)):
            fail("something that is fetched")
        for text in [element.text, element.tail, *element.attrib.values()]:
            check_text(text)
    width, height = (float(root.get(name)) for name in ("width", "height"))
    check_places(root, width, height)
    print(check_boxes(root, width, height), "texts")


main(sys.argv[1])
