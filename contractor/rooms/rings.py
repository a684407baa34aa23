"""Small matters of polygons: rings of whole millimetres (x right, y up)."""

from itertools import pairwise

Ring = tuple[tuple[int, int], ...]


def without_doubles(ring) -> Ring:
    """The ring without repeated corners and without corners in the middle of a straight edge."""
    points = [p for i, p in enumerate(ring) if p != ring[i - 1]]
    kept = []
    for i, (x, y) in enumerate(points):
        (x0, y0), (x1, y1) = points[i - 1], points[(i + 1) % len(points)]
        if (x - x0) * (y1 - y) != (y - y0) * (x1 - x):
            kept.append((x, y))
    return tuple(kept)


def from_bottom_left(ring: Ring) -> Ring:
    """The same ring, begun at its lowest corner, of these the one furthest left."""
    if not ring:
        return ring
    first = min(range(len(ring)), key=lambda i: (ring[i][1], ring[i][0]))
    return (*ring[first:], *ring[:first])


def is_rectangle(ring: Ring) -> bool:
    """Whether all that the ring says is its length and height."""
    return len(ring) == 4 and all(a[0] == b[0] or a[1] == b[1] for a, b in pairwise([*ring, ring[0]]))


def size_of(ring: Ring) -> tuple[int, int]:
    """Length and height of the rectangle round a ring that touches both axes."""
    return max(x for x, _ in ring), max(y for _, y in ring)


def area_of(ring: Ring) -> float:
    """Shoelace formula."""
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise([*ring, ring[0]]))) / 2


def height_at(ring: Ring, x_mm: float) -> float:
    """How high the ring reaches at x: the greatest y of its edges there."""
    ys = []
    for (x0, y0), (x1, y1) in pairwise([*ring, ring[0]]):
        if min(x0, x1) <= x_mm <= max(x0, x1):
            ys += [y0, y1] if x0 == x1 else [y0 + (y1 - y0) * (x_mm - x0) / (x1 - x0)]
    return max(ys, default=0)
