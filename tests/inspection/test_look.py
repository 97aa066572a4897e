"""The tokens hold: each pair of colors in use is legible in light, dark and print; and pages stay light."""

import gzip
import re
from pathlib import Path

import pytest

STATIC = Path(__file__).resolve().parents[2] / "inspection" / "static" / "inspection"
TOKENS = (STATIC / "css" / "tokens.css").read_text(encoding="utf-8")
BASE = (STATIC / "css" / "base.css").read_text(encoding="utf-8")

# Words need 4.5 to 1 and borders, shapes and large words 3 to 1 (WCAG 2.2, 1.4.3 and 1.4.11).
WORDS = [
    *((name, ground) for name in ("text", "soft", "ink") for ground in ("paper", "wash", "field", "inkwash")),
    *((name, ground) for name in ("text", "ink") for ground in ("okwash", "badwash", "nearwash")),
    *((name, ground) for name in ("ok", "bad", "near") for ground in ("paper", "wash", "inkwash", f"{name}wash")),
    *(("paper", name) for name in ("ok", "bad", "near", "text")),
    ("onink", "ink"),
]
BORDERS = [("edge", ground) for ground in ("paper", "wash", "field")]


def colors_in(block: str) -> dict[str, str]:
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", block))


def blocks() -> dict[str, dict[str, str]]:
    """The four places where colors stand: light, dark as the system wishes, dark as chosen, print."""
    found = [colors_in(block) for block in re.findall(r"\{([^{}]*)\}", TOKENS)]
    light, wished, chosen, paper = (block for block in found if block)
    return {"light": light, "dark": chosen, "wished": wished, "print": light | paper}


def luminance(color: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(color[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_black_on_white_has_the_known_contrast():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("theme", ["light", "dark", "print"])
def test_every_pair_of_words_and_ground_is_legible(theme):
    colors = blocks()[theme]

    weak = {pair: round(contrast(colors[pair[0]], colors[pair[1]]), 2) for pair in WORDS}
    assert {pair: ratio for pair, ratio in weak.items() if ratio < 4.5} == {}


@pytest.mark.parametrize("theme", ["light", "dark", "print"])
def test_every_border_of_a_field_can_be_seen(theme):
    colors = blocks()[theme]

    weak = {pair: round(contrast(colors[pair[0]], colors[pair[1]]), 2) for pair in BORDERS}
    assert {pair: ratio for pair, ratio in weak.items() if ratio < 3} == {}


def test_dark_is_one_whether_wished_by_the_system_or_chosen():
    found = blocks()

    assert found["wished"] == found["dark"]
    assert set(found["dark"]) == set(found["light"])


def test_edge_and_rule_are_never_colors_of_words():
    assert not re.search(r"(?<![-\w])color: var\(--(edge|rule)\)", BASE)


def test_pages_take_their_colors_from_the_tokens_alone():
    # a QR code is black on white in every theme, or no phone reads it
    used = {line.strip() for line in BASE.splitlines() if re.search(r"#[0-9a-fA-F]{3,6}\b", line)}

    assert all(line.startswith(".qr") for line in used), used


def test_style_script_and_font_leave_most_of_a_hundred_kilobytes_to_the_page():
    packed = [*(STATIC / "css" / name for name in ("tokens.css", "base.css")), *(STATIC / "js").glob("[pt]*.js")]
    wire = sum(len(gzip.compress(path.read_bytes())) for path in packed)
    font = (STATIC / "fonts" / "RaceDeskSans.woff2").stat().st_size

    assert wire + font < 50_000
    assert len(BASE) + len(TOKENS) < 25_000
