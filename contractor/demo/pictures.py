"""Pictures for the demo's survey, drawn here: plain shapes that stand for what a photograph would show."""

from io import BytesIO

from PIL import Image, ImageDraw

SIZE = (1200, 900)
WALL, SHADE, SKIRTING, FLOOR, INK = "#d8d0c0", "#c9bfac", "#f1ede4", "#9a7b57", "#3a3630"
BRICK, MORTAR, DARK, TAPE = "#a8654b", "#cbbfae", "#1f1b18", "#e3b51f"


def picture(kind: str) -> BytesIO:
    """One of the drawings below as a JPEG file."""
    image = Image.new("RGB", SIZE, WALL)
    DRAWN[kind](ImageDraw.Draw(image))
    out = BytesIO()
    image.save(out, "JPEG", quality=88)
    out.seek(0)
    return out


def _wall(draw: ImageDraw.ImageDraw) -> None:
    """A party wall with its chimney breast, a tape along the skirting, and the hollow places ringed in pencil."""
    draw.rectangle((0, 700, 1200, 760), fill=SKIRTING, outline=INK)
    draw.rectangle((0, 760, 1200, 900), fill=FLOOR)
    draw.rectangle((410, 0, 790, 720), fill=SHADE, outline=INK, width=3)
    draw.rectangle((500, 430, 700, 720), fill=DARK)
    draw.rectangle((480, 410, 720, 432), fill=SKIRTING, outline=INK)
    for box in ((60, 560), (880, 590), (1010, 590)):
        draw.rectangle((*box, box[0] + 90, box[1] + 60), fill="#f7f5f0", outline=INK, width=3)
    draw.ellipse((880, 110, 1120, 330), outline=INK, width=5)
    draw.text((930, 210), "hollow", fill=INK, font_size=44)
    _tape(draw, 742)


def _tape(draw: ImageDraw.ImageDraw, y: int) -> None:
    draw.rectangle((20, y, 1180, y + 16), fill=TAPE, outline=INK)
    for n, x in enumerate(range(20, 1180, 29)):
        draw.line((x, y, x, y + (16 if n % 10 == 0 else 8)), fill=INK, width=2)


def _pockets(draw: ImageDraw.ImageDraw) -> None:
    """A lifted floorboard: brick below it, joists in their pockets, and light through the gap round one."""
    draw.rectangle((0, 0, 1200, 900), fill=MORTAR)
    for row in range(14):
        for column in range(-1, 9):
            x = column * 150 + (75 if row % 2 else 0)
            draw.rectangle((x + 5, row * 64 + 5, x + 145, row * 64 + 59), fill=BRICK)
    for x in (120, 540, 960):
        draw.rectangle((x - 14, 300, x + 134, 640), fill=DARK)
        draw.rectangle((x, 320, x + 120, 900), fill="#7d5f3e", outline=INK, width=4)
    draw.polygon(((662, 300), (674, 300), (674, 420), (662, 410)), fill="#fbe7a0")
    draw.rectangle((0, 0, 1200, 90), fill=FLOOR, outline=INK, width=4)


def _crack(draw: ImageDraw.ImageDraw) -> None:
    """A plaster ceiling with a crack from the rose to the wall."""
    draw.rectangle((0, 780, 1200, 900), fill=SHADE)
    draw.line((0, 780, 1200, 780), fill=INK, width=4)
    draw.ellipse((470, 120, 730, 380), fill=SKIRTING, outline=INK, width=4)
    draw.ellipse((570, 220, 630, 280), fill=SHADE, outline=INK, width=3)
    draw.line(((700, 360), (760, 430), (740, 520), (830, 600), (820, 690), (880, 780)), fill=INK, width=5)


def _meter(draw: ImageDraw.ImageDraw) -> None:
    """A moisture meter held to the plaster low on a wall."""
    draw.rectangle((0, 700, 1200, 900), fill=SKIRTING, outline=INK, width=4)
    draw.rounded_rectangle((420, 240, 760, 660), 36, fill="#4b5a60", outline=INK, width=6)
    draw.rectangle((470, 300, 710, 430), fill="#cfe0c6", outline=INK, width=4)
    draw.text((505, 318), "12.0 %", fill=INK, font_size=60)
    for x in (540, 640):
        draw.line((x, 240, x, 130), fill=INK, width=10)


DRAWN = {"wall": _wall, "pockets": _pockets, "crack": _crack, "meter": _meter}
