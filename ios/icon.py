#!/usr/bin/env python3
"""The app's icon as Apple wants it, one picture of 1024 by 1024 without a transparent part, out of the mark that Android draws.

    icon.py            draws it anew into the asset catalogue
    icon.py --check    says whether what is there shows what would be drawn; another zlib may pack the same picture otherwise
"""
import re
import struct
import sys
import zlib
from pathlib import Path
from xml.etree import ElementTree

IOS = Path(__file__).resolve().parent
PICTURE = IOS / "App/Hangtrue/Assets.xcassets/AppIcon.appiconset/AppIcon.png"
RES = IOS.parent / "android/app/src/main/res"
NAME = "{http://schemas.android.com/apk/res/android}"
SIDE = 1024
# Of the 108 units of an adaptive icon a launcher shows the middle 72 at most; Apple rounds the corners of the whole.
FIRST, SHOWN = 18.0, 72.0
FINE = 4


def mark():
    """The polygons of the mark, each with its colour, in units of its drawing: moves, lines along an axis, slanted lines."""
    for path in ElementTree.parse(RES / "drawable/ic_shade.xml").getroot().findall("path"):
        colour = path.get(f"{NAME}fillColor")
        for figure in re.findall(r"M[^M]*z", path.get(f"{NAME}pathData")):
            x = y = 0.0
            points = []
            for step, numbers in re.findall(r"([MhvlL])([^MhvlLz]*)", figure):
                at = [float(n) for n in re.findall(r"-?[\d.]+", numbers)]
                if step in "ML":
                    x, y = at
                elif step == "h":
                    x += at[0]
                elif step == "v":
                    y += at[0]
                else:
                    x, y = x + at[0], y + at[1]
                points.append((x, y))
            yield points, colour


def rgb(colour):
    return tuple(int(colour[i : i + 2], 16) for i in (1, 3, 5))


def spans(points, y):
    """Where the line at height y is inside the polygon: pairs of x."""
    cut = []
    for (x1, y1), (x2, y2) in zip(points, points[1:] + points[:1]):
        if (y1 <= y) != (y2 <= y):
            cut.append(x1 + (y - y1) * (x2 - x1) / (y2 - y1))
    cut.sort()
    return zip(cut[::2], cut[1::2])


def drawn():
    """The rows of the picture, three bytes a pixel. Edges are soft: FINE lines to a row, and parts of a pixel along it."""
    ground = rgb(ElementTree.parse(RES / "values/styles.xml").getroot().find("color[@name='ink']").text)
    figures = [(points, rgb(colour)) for points, colour in mark()]
    scale = SIDE / SHOWN
    rows = []
    for row in range(SIDE):
        pixels = [ground] * SIDE
        for points, colour in figures:
            inside = [0.0] * SIDE
            for fine in range(FINE):
                y = (row + (fine + 0.5) / FINE) / scale + FIRST
                for left, right in spans(points, y):
                    a, b = ((x - FIRST) * scale for x in (left, right))
                    for at in range(max(0, int(a)), min(SIDE, int(b) + 1)):
                        inside[at] += max(0.0, min(b, at + 1) - max(a, at)) / FINE
            for at, part in enumerate(inside):
                if part > 0:
                    pixels[at] = tuple(round(under + (over - under) * part) for under, over in zip(pixels[at], colour))
        rows.append(bytes(value for pixel in pixels for value in pixel))
    return rows


def png(rows):
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", SIDE, SIDE, 8, 2, 0, 0, 0)
    body = zlib.compress(b"".join(b"\0" + row for row in rows), 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"sRGB", b"\0") + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def rows_of(picture):
    """The rows of a picture that png() packed."""
    size, packed = struct.unpack(">II", picture[16:24]), picture[picture.index(b"IDAT") + 4 :]
    flat = zlib.decompressobj().decompress(packed)
    return [flat[at + 1 : at + 1 + 3 * size[0]] for at in range(0, len(flat), 1 + 3 * size[0])]


if __name__ == "__main__":
    rows = drawn()
    if sys.argv[1:] == ["--check"]:
        if rows_of(PICTURE.read_bytes()) != rows:
            sys.exit("icon.py: the icon is not the mark that Android draws; run ios/icon.py and commit what it draws")
    else:
        PICTURE.write_bytes(png(rows))
