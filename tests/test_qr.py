"""A link's code holds the link: read back from the drawing and from a picture of a 300 dpi print."""

from __future__ import annotations

import shutil
import zlib
from xml.etree import ElementTree

import pytest
from curebatch.views import preview, qr
from helpers import qr_reader
from hypothesis import given, settings
from hypothesis import strategies as st

LINK = (
    "https://kitchen.example.org/recipes/pistachio-pork-loaf/#v=0&recipe=pistachio-pork-loaf.1&nitrite=104mg/kg"
    "&nitrite_as=NaNO2&nitrite_per=mix&salt=2.1%25&salt_per=mix&check=hm0u"
)


def printed(link: str) -> tuple[bytes, list[list[int]]]:
    """A PNG of the code as it comes from a printer of 300 dpi, and its dots."""
    dots = qr.dots_of(qr.code_of(link))
    rows = [[cell for cell in row for _ in range(dots)] for row in qr_reader.modules_of(qr.svg(link, "x")) for _ in range(dots)]
    return preview.png([bytes(row) for row in rows], b"\xff\xff\xff\x00\x00\x00"), rows


def test_the_drawing_reads_back():
    assert qr_reader.read(qr_reader.drawn(qr.svg(LINK, "The recipe"))) == LINK


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=300))
def test_every_text_reads_back(text):
    assert qr_reader.read(qr_reader.drawn(qr.svg(text, "x"))) == text


@pytest.mark.parametrize("length", [1, 14, 120, 250, 504, 505, 700, 997])
def test_every_length_reads_back(length):
    text = ("https://example.org/#" + "aZ3%" * 250)[:length]
    assert qr_reader.read(qr_reader.drawn(qr.svg(text, "x"))) == text


def test_one_wrong_module_is_seen_by_the_reader():
    rows = qr_reader.drawn(qr.svg(LINK, "x"))
    rows[20][20] ^= 1
    with pytest.raises(qr_reader.Unreadable):
        qr_reader.read(rows)


@pytest.mark.parametrize("link", [LINK, LINK + "&x=" + "b" * 400], ids=["a recipe", "many changes"])
def test_a_print_of_300_dpi_reads_back(link, tmp_path):
    import subprocess

    png, rows = printed(link)
    dots = qr.dots_of(qr.code_of(link))
    middle = [row[dots // 2 :: dots] for row in rows[dots // 2 :: dots]]
    assert qr_reader.read(qr_reader.bare(middle)) == link
    # As wide on paper as it says.
    assert len(rows) / 300 * 25.4 == pytest.approx(qr.size_mm(link), abs=0.01)
    reader = shutil.which("zbarimg")
    if reader:
        path = tmp_path / "code.png"
        path.write_bytes(png)
        read = subprocess.run([reader, "--quiet", "--raw", str(path)], capture_output=True, check=True)
        assert read.stdout.decode().rstrip("\n") == link


def test_level_m_and_no_other():
    # A level raised where there is room would make the same link wider or denser by chance.
    assert qr_reader._format(qr_reader.drawn(qr.svg("a", "x")))[0] == qr_reader.LEVEL_M


def test_a_recipe_link_stays_small_on_paper():
    # The design's measure: 200 characters make a code of 32 mm.
    assert qr.size_mm("a" * 200) <= 34
    assert qr.size_mm("a" * 997) <= qr.WIDEST
    for length in (1, 250, 997):
        code = qr.code_of("a" * length)
        for dpi in (300, 600, 1200):
            assert qr.dots_of(code, dpi) * 25.4 / dpi >= 0.33


def test_too_long_is_said_with_both_numbers():
    most = qr.most_bytes()
    assert qr.code_of("a" * most).version == qr.LARGEST
    for link in ("a" * (most + 1), "é" * most, "a" * 5000):
        with pytest.raises(qr.LinkTooLong) as told:
            qr.code_of(link)
        assert (told.value.length, told.value.most) == (len(link.encode()), most)
    with pytest.raises(ValueError, match="needs a link"):
        qr.svg("", "x")


def test_the_drawing_keeps_to_the_content_policy():
    drawing = qr.svg(LINK, '<script>alert("x")</script>')
    svg = ElementTree.fromstring(drawing)
    assert svg.find("{http://www.w3.org/2000/svg}title").text == '<script>alert("x")</script>'
    assert "style" not in {name for element in svg.iter() for name in element.attrib}
    assert [element.tag.rpartition("}")[2] for element in svg.iter()] == ["svg", "title", "rect", "path"]
    assert svg.attrib["width"] == svg.attrib["height"] == f"{qr.size_mm(LINK):.2f}mm"


def test_the_same_link_gives_the_same_drawing():
    first = qr.svg(LINK, "x")
    qr.code_of.cache_clear()
    assert qr.svg(LINK, "x") == first


# ------------------------------------------------------------------ the picture for link previews


def pixels(data: bytes) -> list[bytes]:
    """The rows of a PNG that the preview wrote, its checks held."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, packed, size = 8, b"", (0, 0)
    while at < len(data):
        length, kind = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        body = data[at + 8 : at + 8 + length]
        assert zlib.crc32(kind + body) == int.from_bytes(data[at + 8 + length : at + 12 + length], "big")
        if kind == b"IHDR":
            size = (int.from_bytes(body[:4], "big"), int.from_bytes(body[4:8], "big"))
        elif kind == b"IDAT":
            packed += body
        at += 12 + length
    raw, width = zlib.decompress(packed), size[0] + 1
    rows = [raw[n : n + width] for n in range(0, len(raw), width)]
    assert len(rows) == size[1] and all(row[0] == 0 and len(row) == width for row in rows)
    return [row[1:] for row in rows]


def written(rows: list[bytes]) -> int:
    """Dots of lettering on the paper."""
    return sum(any(row[preview.PANEL :]) for row in rows)


def test_the_preview_is_a_picture_with_its_title_on_it():
    rows = pixels(preview.preview("Pistachio pork loaf"))
    assert (len(rows[0]), len(rows)) == (1200, 630)
    assert written(rows) > 150
    # Nothing runs over an edge.
    assert not any(row[-preview.EDGE // 2 :].strip(b"\0") for row in rows)
    assert max(map(max, rows)) < 2 * preview.SHADES


def test_the_same_title_gives_the_same_bytes():
    first = preview.preview("Back bacon")
    preview._drawn.cache_clear()
    preview._ground.cache_clear()
    assert preview.preview("Back bacon") == first != preview.preview("Back bacon 2")


@pytest.mark.parametrize(
    ("title", "kept"),
    [("Crème brûlée", "CREME BRULEE"), ("Smørbrød", "SMORBROD"), ("Straße", "STRASSE"), ("Пирог", ""), ("Ham \N{SAUROPOD}", ""), ("", "")],
)
def test_a_title_is_spelled_whole_or_not_at_all(title, kept):
    assert preview.spelled(title) == kept


@pytest.mark.parametrize("title", ["Пирог", "", "W" * 300, "word " * 80])
def test_without_a_title_the_emblem_stands_alone(title):
    rows = pixels(preview.preview(title))
    assert written(rows) == 0
    assert any(max(row[: preview.PANEL]) > preview.SHADES for row in rows)


def test_each_letter_can_be_told_from_the_others():
    shapes = {letter: preview._drawn(letter, 9.0, 0)[0] for letter in preview._LETTERS}
    assert len(set(shapes.values())) == len(shapes)
    for letter, rows in shapes.items():
        assert max(map(max, rows)) == preview.SHADES - 1, letter
        # The strokes lie within their box: nothing is cut off at its edge.
        assert not any(rows[0]) and not any(rows[-1]) and not any(row[0] or row[-1] for row in rows), letter
