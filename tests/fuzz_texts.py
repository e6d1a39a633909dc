"""Texts for fuzzing: good files of every kind, spoilt ones, and ones without any sense."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from random import Random

import yaml

ROOT = Path(__file__).parent.parent
_MOST_ROWS = 150


# -- good files -----------------------------------------------------------------------------------


@cache
def good(kind: str) -> tuple[str, ...]:
    """The texts of good files: "specimen", "list.csv", "list.yaml", "rig" or "sweep"."""
    patterns = {
        "specimen": ("tests/good/*.yaml", "examples/*.yaml"),
        "list.csv": ("examples/*.measured.csv", "examples/reed-lot/pad-1.csv"),
        "list.yaml": ("examples/*.measured.yaml",),
        "rig": ("tests/good_rigs/*", "examples/*.rig.yaml"),
        "sweep": ("examples/*.sweep.csv",),
    }
    paths = sorted(path for pattern in patterns[kind] for path in ROOT.glob(pattern))
    if kind == "specimen":
        paths = [path for path in paths if not re.search(r"\.(measured|rig)\.", path.name)]
    texts = [path.read_text(encoding="utf-8") for path in paths]
    if kind == "specimen":
        # A plate on studs takes seconds to solve: it is only read here.
        texts = [f"{text}colour: red\n" if "[" in text else text for text in texts]
    if kind == "sweep":
        texts = [_thinned(text) for text in texts] + [_record()]
    assert texts
    return tuple(texts)


def _thinned(text: str) -> str:
    lines = text.splitlines()
    head = next(i for i, line in enumerate(lines) if line[:1].isdigit())
    step = max(1, (len(lines) - head) // _MOST_ROWS)
    return "\n".join([*lines[:head], *lines[head::step]]) + "\n"


def _record() -> str:
    """A record over time: a pulse that rings."""
    rows = ["time_s,drive,response"]
    for i in range(400):
        t = i / 2000.0
        ring = math.exp(-20.0 * t) * math.sin(2.0 * math.pi * 110.0 * t)
        rows.append(f"{t:.6f},{1.0 if i == 3 else 0.0},{ring:.6f}")
    return "\n".join(rows) + "\n"


@cache
def words() -> tuple[str, ...]:
    """Every word and unit that good files use, and some that they do not."""
    kinds = ("specimen", "list.csv", "list.yaml", "rig", "sweep")
    found = {w for kind in kinds for text in good(kind) for w in re.findall(r"[A-Za-z_]+", text)}
    return (*sorted(found), "null", "true", "~", "yes", "kg", "GPa", "in", "N/m", "°", "a" * 300)


# -- what spoils a text ---------------------------------------------------------------------------

HOSTILE_NUMBERS = (
    "0", "-1", "-0.0", "1e308", "1e-308", "1e999", "nan", "inf", "-.inf", "3,2", "1.200.5", "1 000",
    "", "9" * 400, "1/0", "1/3", "0x10", "٣", "½", "1_000", "+-1", "1e", "1 ± 2", "5 ± 100 %",
    "400",
    "1e-7", "1e6", "0.5", "2", "100000",
)  # fmt: skip
NASTY = (
    "\t", "\0", "\x1b[31m", "{", "}", "[", "]", ":", ": ", "- ", "&a ", "*a ", "!!python/name:os ",
    "!!int ", "<<: *a\n", "%YAML 9\n", "---\n", "...\n", "|\n", "> ", "'", '"', "#", "\u2028",
    "\u202e",
    "\ufeff", "²", "é", "🔔", "\r", "\r\n", ",", ";", "\n", "\n\n", " ", "? ", "@", "`", "%", "=",
)  # fmt: skip
_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")


def spoilt(random: Random, texts: Sequence[str], most: int = 3) -> str:
    """A good text in which one to `most` things were changed."""
    text = random.choice(texts)
    for _ in range(random.randint(1, most)):
        text = random.choice(_CHANGES)(random, text)
    return text


def _other_number(random: Random, text: str) -> str:
    return _replaced(random, text, _NUMBER, random.choice(HOSTILE_NUMBERS))


def _scaled_number(random: Random, text: str) -> str:
    """A number that is a plausible slip: other powers of ten, or a little different."""
    found = list(_NUMBER.finditer(text))
    if not found:
        return text
    at = random.choice(found)
    factor = random.choice((0.0, 1e-6, 1e-3, 0.1, 0.5, 0.99, 1.01, 2.0, 10.0, 1e3, 1e6))
    return f"{text[: at.start()]}{float(at[0]) * factor:.12g}{text[at.end() :]}"


def _other_word(random: Random, text: str) -> str:
    return _replaced(random, text, re.compile(r"[A-Za-z_]+"), random.choice(words()))


def _replaced(random: Random, text: str, pattern: re.Pattern[str], new: str) -> str:
    found = list(pattern.finditer(text))
    if not found:
        return text
    at = random.choice(found)
    return text[: at.start()] + new + text[at.end() :]


def _nasty(random: Random, text: str) -> str:
    at = random.randint(0, len(text))
    return text[:at] + random.choice(NASTY) + text[at:]


def _cut(random: Random, text: str) -> str:
    start = random.randint(0, len(text))
    return text[:start] + text[min(len(text), start + random.randint(1, 40)) :]


def _lines(random: Random, text: str) -> str:
    lines = text.splitlines(keepends=True)
    if not lines:
        return text
    one, other = random.randrange(len(lines)), random.randrange(len(lines))
    way = random.choice(("leave out", "twice", "swap", "indent", "end"))
    if way == "leave out":
        del lines[one]
    elif way == "twice":
        lines.insert(other, lines[one])
    elif way == "swap":
        lines[one], lines[other] = lines[other], lines[one]
    elif way == "indent":
        lines[one] = " " * random.randint(1, 6) + lines[one]
    else:
        del lines[one:]
    return "".join(lines)


_CHANGES = (
    _other_number, *[_scaled_number] * 5, _other_word, _nasty, _cut, _lines,
)  # fmt: skip


def random_yaml(random: Random) -> str:
    """YAML of the right words in no sensible order."""
    top = {random.choice(_TOP): _tree(random, 3) for _ in range(random.randint(0, 8))}
    return str(yaml.safe_dump(top, allow_unicode=True, sort_keys=False))


def _tree(random: Random, depth: int) -> object:
    way = random.choice(("word", "quantity", "number", "none", "list", "mapping"))
    if way == "quantity":
        return f"{random.choice(HOSTILE_NUMBERS)} {random.choice(words())}"
    if way == "number":
        return random.choice((True, 0, -1, 7.5, 10**30, float("inf"), float("nan")))
    if way == "none":
        return None
    if way == "list" and depth:
        return [_tree(random, depth - 1) for _ in range(random.randint(0, 4))]
    if way == "mapping" and depth:
        return {
            random.choice(words()): _tree(random, depth - 1) for _ in range(random.randint(0, 5))
        }
    return random.choice(words())


_TOP = (
    "kind", "material", "geometry", "boundary", "attached", "supports", "drive", "name", "measured",
    "exciter", "strobe", "sensor", "damping_ratio",
)  # fmt: skip


def content(random: Random, kind: str, hostility: float) -> bytes:
    """The bytes of a file: as likely as `hostility` (0 to 1) not a good one."""
    if random.random() >= hostility:
        return random.choice(good(kind)).encode()
    way = random.choice(("spoilt",) * 14 + ("yaml", "bytes", "flipped", "other"))
    if way == "yaml":
        return random_yaml(random).encode("utf-8", errors="surrogatepass")
    if way == "bytes":
        return random.randbytes(random.randint(0, 300))
    if way == "other":
        return random.choice(good(random.choice(("specimen", "rig", "sweep")))).encode()
    raw = bytearray(spoilt(random, good(kind)).encode())
    if way == "flipped" and raw:
        for _ in range(random.randint(1, 4)):
            raw[random.randrange(len(raw))] = random.randrange(256)
    return bytes(raw)
