"""What every drawing over frequency writes on its axis."""

OCTAVES_HZ = (63, 125, 250, 500, 1000, 2000, 4000)


def hertz(hz: int) -> str:
    """125 -> 125, 2000 -> 2k"""
    return f"{hz // 1000}k" if hz >= 1000 else str(hz)
