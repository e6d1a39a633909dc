"""Reads the lines of SVG and PDF files back, in mm, by the rules of those formats alone."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
import zlib

import numpy as np

POINT_MM = 25.4 / 72.0
SVG = "{http://www.w3.org/2000/svg}"

Polylines = list[np.ndarray]


def svg_lines(content: bytes) -> tuple[tuple[float, float], dict[str, Polylines]]:
    """The size of an SVG in mm, and by the id of their group its polylines, y upward, in mm."""
    root = ET.fromstring(content)
    width, height = (
        float(re.fullmatch(r"([\d.]+)pt", root.get(k))[1]) for k in ("width", "height")
    )
    assert [float(v) for v in root.get("viewBox").split()] == [0.0, 0.0, width, height]
    found: dict[str, Polylines] = {}
    for group in root.iter(f"{SVG}g"):
        for path in group.findall(f"{SVG}path"):
            assert group.get("transform") is None
            for points in _svg_subpaths(path.get("d")):
                upward = (points * [1.0, -1.0] + [0.0, height]) * POINT_MM
                found.setdefault(group.get("id", ""), []).append(upward)
    return (width * POINT_MM, height * POINT_MM), found


def _svg_subpaths(d: str) -> Polylines:
    """Polylines of a path of M, L and z alone; others (letters, rounded boxes) are left out."""
    tokens = re.findall(r"[A-Za-z]|-?[\d.]+(?:e-?\d+)?", d)
    paths: list[list[tuple[float, float]]] = []
    k = 0
    while k < len(tokens):
        if tokens[k] in "ML":
            if tokens[k] == "M":
                paths.append([])
            paths[-1].append((float(tokens[k + 1]), float(tokens[k + 2])))
            k += 3
        elif tokens[k] == "z":
            k += 1
        else:
            return []
    return [np.array(path) for path in paths]


def pdf_pages(content: bytes) -> list[tuple[tuple[float, float], Polylines]]:
    """For each page of a PDF its size and the polylines that are stroked on it, in mm."""
    objects = dict(_objects(content))
    kids = next(v for v in objects.values() if b"/Type /Pages" in v)
    pages = []
    for number in re.findall(rb"(\d+) 0 R", re.search(rb"/Kids \[(.*?)\]", kids, re.S)[1]):
        page = objects[int(number)]
        box = [float(v) for v in re.search(rb"/MediaBox \[(.*?)\]", page)[1].split()]
        assert box[:2] == [0.0, 0.0]
        stream = objects[int(re.search(rb"/Contents (\d+) 0 R", page)[1])]
        data = zlib.decompress(re.search(rb"stream\r?\n(.*)endstream", stream, re.S)[1])
        pages.append(((box[2] * POINT_MM, box[3] * POINT_MM), _stroked(data.decode("latin-1"))))
    return pages


def _objects(content: bytes):
    """Number -> body, by the table of offsets at the file's end."""
    start = int(re.search(rb"startxref\s+(\d+)", content)[1])
    lines = content[start:].split(b"\n")
    count = int(lines[1].split()[1])
    offsets = [int(line[:10]) for line in lines[2 : 2 + count] if line[17:18] == b"n"]
    ends = sorted([*offsets, start])
    for offset in offsets:
        body = content[offset : ends[ends.index(offset) + 1]]
        yield int(body.split()[0]), body


def _stroked(data: str) -> Polylines:
    """The polylines that a page's stream strokes; curves and texts are left out."""
    data = re.sub(r"BT.*?ET", "", data, flags=re.S)
    matrix, stack = np.eye(3), []
    operands: list[str] = []
    paths: list[list[tuple[float, float]]] = []
    found: Polylines = []
    for token in data.split():
        if re.fullmatch(r"[-+]?[\d.]+|/.*|\[.*|.*\]|\(.*", token):
            operands.append(token)
            continue
        if token == "q":
            stack.append(matrix)
        elif token == "Q":
            matrix = stack.pop()
        elif token == "cm":
            a, b, c, d, e, f = map(float, operands[-6:])
            matrix = np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]]) @ matrix
        elif token == "m":
            paths.append([_at(operands, matrix)])
        elif token == "l":
            paths[-1].append(_at(operands, matrix))
        elif token in "Ss":
            found += [np.array(path) * POINT_MM for path in paths]
        if token in ("S", "s", "f", "n", "B", "b", "W", "f*", "B*"):
            paths = paths if token == "W" else []
        operands = []
    return found


def _at(operands: list[str], matrix: np.ndarray) -> tuple[float, float]:
    x, y, _ = np.array([float(operands[-2]), float(operands[-1]), 1.0]) @ matrix
    return float(x), float(y)


def length(line: np.ndarray) -> float:
    """The length of a polyline."""
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def away(points: np.ndarray, lines: Polylines) -> np.ndarray:
    """The distance of each point from the nearest of some polylines."""
    best = np.full(len(points), np.inf)
    for line in lines:
        start, step = line[:-1], np.diff(line, axis=0)
        long = np.einsum("ij,ij->i", step, step)
        for k, point in enumerate(points):
            t = np.einsum("ij,ij->i", point - start, step) / np.where(long > 0.0, long, 1.0)
            feet = start + np.clip(t, 0.0, 1.0)[:, None] * step
            best[k] = min(best[k], float(np.linalg.norm(feet - point, axis=1).min()))
    return best
