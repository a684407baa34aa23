"""The invented firm's mark, drawn here: an open book of four boards, as layers of a wall."""

from io import BytesIO

from PIL import Image, ImageDraw

INK, LAKE = (29, 39, 51, 255), (31, 95, 102, 255)
TIMES = 4  # drawn larger and made small, for smooth edges


def drawn_logo() -> BytesIO:
    """A PNG file."""
    image = Image.new("RGBA", (160 * TIMES, 120 * TIMES), (0, 0, 0, 0))
    pen = ImageDraw.Draw(image)
    for n, (left, width) in enumerate(((8, 10), (30, 10), (52, 26), (92, 10))):
        colour = LAKE if n == 2 else INK
        top = 14 * n
        box = [left * TIMES, top * TIMES, (left + width) * TIMES, (112 - top // 2) * TIMES]
        pen.rounded_rectangle(box, radius=3 * TIMES, fill=colour)
    pen.line([8 * TIMES, 116 * TIMES, 112 * TIMES, 116 * TIMES], fill=INK, width=3 * TIMES)
    out = BytesIO()
    image.resize((160, 120), Image.Resampling.LANCZOS).save(out, "PNG")
    out.seek(0)
    return out
