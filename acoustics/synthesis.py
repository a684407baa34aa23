"""Noises made from nothing but arithmetic: voices, a programme, music and steps. No recording stands behind them.

Each function returns samples (N_SAMPLES,) at RATE_HZ whose end joins its beginning, so that they may run round. Their
shape in time is what matters here; `listen` gives them their levels by band. All are the same on every run (seeded).
"""

from __future__ import annotations

import numpy as np

RATE_HZ = 16_000
SECONDS = 8
N_SAMPLES = RATE_HZ * SECONDS

# First three formants in Hz of vowels of a grown man, rounded (Peterson and Barney 1952, from memory).
VOWELS_HZ = np.array(
    [(270, 2290, 3010), (390, 1990, 2550), (530, 1840, 2480), (660, 1720, 2410), (730, 1090, 2440), (570, 840, 2410),
     (440, 1020, 2240), (300, 870, 2240), (640, 1190, 2390), (490, 1350, 1690)], float
)  # fmt: skip
FORMANT_WIDTHS_HZ = np.array([90.0, 110.0, 170.0])
HOP, FRAME = 80, 640


def conversation(seed: int = 11, lift: float = 1.0) -> np.ndarray:
    """Two people in turn, now and then at once, in syllables that mean nothing. `lift` raises their pitch."""
    rng = np.random.default_rng(seed)
    low = _voice(rng, 112.0 * lift, 1.0) * _turns([(0.0, 2.6), (4.3, 6.2), (7.4, 8.0)])
    high = _voice(rng, 196.0 * lift, 1.17) * _turns([(2.3, 4.5), (5.9, 7.7)])
    return low + high


def programme(seed: int = 23) -> np.ndarray:
    """A television in an evening: somebody talks, chords lie under it, and a crowd claps."""
    rng = np.random.default_rng(seed)
    voice = _unit(_voice(rng, 128.0, 1.05) * _turns([(0.3, 3.4), (4.2, 7.7)]))
    chords = _unit(sum(_chord(notes, 2.0 * n, 2.0) for n, notes in enumerate(((57, 60, 64), (55, 59, 62)) * 2)))
    claps = np.zeros(N_SAMPLES)
    for start in rng.uniform(3.2, 4.6, 160):
        _add(claps, start, rng.normal(size=200) * _decay(200, 0.004) * rng.uniform(0.2, 1.0))
    return voice + 0.35 * chords + 0.3 * _unit(claps)


def music(seed: int = 37) -> np.ndarray:
    """Sixteen beats at 120 a minute: drum, bass, chords, clap and cymbal."""
    rng = np.random.default_rng(seed)
    sound = np.zeros(N_SAMPLES)
    bars = ((45, (57, 60, 64, 67)), (41, (57, 60, 65, 69)), (48, (55, 60, 64, 67)), (43, (55, 59, 62, 69)))
    for n, (root, notes) in enumerate(bars):
        sound += 0.9 * _chord(notes, 2.0 * n, 2.0)
        for eighth, step in enumerate((0, 0, 12, 0, 7, 0, 12, 10)):
            _add(sound, 2.0 * n + 0.25 * eighth, 1.3 * _plucked(root - 12 + step, 0.24))
    for beat in range(16):
        _add(sound, 0.5 * beat, 2.2 * _drum())
        _add(sound, 0.5 * beat + 0.25, 0.5 * _bright(rng, 800, 0.02))
        if beat % 2:
            _add(sound, 0.5 * beat, 0.9 * rng.normal(size=3200) * _decay(3200, 0.045))
    return np.tanh(_unit(sound))  # peaks rounded off, as programme is before it is published


def footsteps(seed: int = 41) -> np.ndarray:
    """Somebody walks to and fro: heel, then ball of the foot, fifteen steps in eight seconds."""
    rng = np.random.default_rng(seed)
    sound = np.zeros(N_SAMPLES)
    for step in range(15):
        at, weight = step * SECONDS / 15 + rng.uniform(0.0, 0.03), rng.uniform(0.75, 1.1)
        _add(sound, at, weight * _thump(rng))
        _add(sound, at + 0.13, 0.35 * weight * _thump(rng))
    return sound


def _voice(rng: np.random.Generator, pitch_hz: float, size: float) -> np.ndarray:
    """A voice that speaks without a break; formants lie `size` times those of a grown man."""
    pitch, loud, hiss, formants = _syllables(rng, pitch_hz)
    phase = np.cumsum(pitch) / RATE_HZ
    buzz = 2.0 * (phase % 1.0) - 1.0
    frequency = np.fft.rfftfreq(FRAME, 1.0 / RATE_HZ)[None, :]
    throat = np.ones((N_SAMPLES // HOP, frequency.shape[1]), complex)
    for formant, width in zip(formants.T, FORMANT_WIDTHS_HZ, strict=True):
        centre = formant[::HOP, None] * size
        throat /= 1.0 - (frequency / centre) ** 2 + 1j * frequency * width / centre**2
    throat *= 1.0 + frequency / 2000.0  # formants above the third, and the lips
    return loud * _unit(_filtered(buzz, throat)) + 0.12 * hiss * _bright(rng, N_SAMPLES, None)


def _syllables(rng: np.random.Generator, pitch_hz: float) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Pitch (n,) in Hz, loudness (n,), hiss (n,) and formants (n, 3) in Hz over the whole time.

    Four to six syllables a second, as people speak; a phrase sinks in pitch and ends in a short rest.
    """
    times, targets, pitches = [0.0], [VOWELS_HZ[0]], [pitch_hz]
    loud, hiss = np.zeros(N_SAMPLES), np.zeros(N_SAMPLES)
    now, left = 0.0, 6
    while now < SECONDS - 0.1:
        if left == 0:
            now, left = now + rng.uniform(0.12, 0.24), int(rng.integers(5, 10))
            continue
        lasts = rng.uniform(0.15, 0.24)
        consonant = rng.uniform(0.03, 0.08)
        if rng.random() < 0.45:
            _add(hiss, now, np.hanning(int((consonant + 0.02) * RATE_HZ)) * rng.uniform(0.3, 1.0), wraps=False)
        vowel = int((lasts - 0.6 * consonant) * RATE_HZ)
        _add(loud, now + 0.6 * consonant, np.hanning(vowel) ** 0.6 * rng.uniform(0.6, 1.0), wraps=False)
        times.append(now + lasts / 2)
        targets.append(VOWELS_HZ[rng.integers(len(VOWELS_HZ))])
        pitches.append(pitch_hz * (0.9 + 0.035 * left) * rng.uniform(0.93, 1.07))
        now, left = now + lasts, left - 1
    moments = np.arange(N_SAMPLES) / RATE_HZ
    formants = np.stack([np.interp(moments, times, column) for column in np.array(targets).T], axis=1)
    return np.interp(moments, times, pitches), loud, hiss, formants


def _filtered(signal: np.ndarray, response: np.ndarray) -> np.ndarray:
    """The signal through a response that changes from frame to frame (frames, bins), by overlapping frames."""
    frames = len(response)
    places = (np.arange(frames)[:, None] * HOP + np.arange(FRAME)[None, :] - FRAME // 2) % N_SAMPLES
    window = np.hanning(FRAME + 1)[:-1]
    pieces = np.fft.irfft(np.fft.rfft(signal[places] * window) * response, FRAME) * window
    out = np.zeros(N_SAMPLES)
    np.add.at(out, places, pieces)
    return out


def _turns(spans_s: list[tuple[float, float]]) -> np.ndarray:
    """One while somebody's turn lasts, nothing else, with soft edges of 40 ms."""
    on = np.zeros(N_SAMPLES)
    for start, end in spans_s:
        on[int(start * RATE_HZ) : int(end * RATE_HZ)] = 1.0
    edge = np.hanning(int(0.04 * RATE_HZ))
    return np.convolve(on, edge / edge.sum(), "same")


def _chord(notes: tuple[int, ...], start_s: float, lasts_s: float) -> np.ndarray:
    """Notes numbered by semitones (69 is 440 Hz) that swell and fade, each with eight harmonics."""
    n = int(lasts_s * RATE_HZ)
    moments = np.arange(n) / RATE_HZ
    shape = np.minimum(moments / 0.05, 1.0) * np.minimum((lasts_s - moments) / 0.1, 1.0) * np.exp(-0.6 * moments)
    tone = sum(
        np.sin(2.0 * np.pi * _hertz(note) * k * moments + 0.7 * k * note) / k for note in notes for k in range(1, 9)
    )
    out = np.zeros(N_SAMPLES)
    _add(out, start_s, shape * tone / len(notes))
    return out


def _plucked(note: int, lasts_s: float) -> np.ndarray:
    moments = np.arange(int(lasts_s * RATE_HZ)) / RATE_HZ
    tone = sum(np.sin(2.0 * np.pi * _hertz(note) * k * moments) / k**1.3 for k in range(1, 7))
    return tone * np.minimum(moments / 0.008, 1.0) * np.minimum((lasts_s - moments) / 0.02, 1.0)


def _drum() -> np.ndarray:
    """A drum whose pitch falls from 110 to 52 Hz."""
    moments = np.arange(int(0.4 * RATE_HZ)) / RATE_HZ
    phase = 52.0 * moments + 58.0 * 0.03 * (1.0 - np.exp(-moments / 0.03))
    return np.sin(2.0 * np.pi * phase) * np.minimum(moments / 0.003, 1.0) * np.exp(-moments / 0.14)


def _thump(rng: np.random.Generator) -> np.ndarray:
    """A foot on a floor: the floor rings on for a tenth of a second low down, the tap is over at once."""
    n = int(0.5 * RATE_HZ)
    moments = np.arange(n) / RATE_HZ
    ring = sum(
        np.sin(2.0 * np.pi * hz * rng.uniform(0.97, 1.03) * moments) * np.exp(-moments * 0.16 * hz)
        for hz in (51.0, 64.0, 82.0, 103.0, 131.0)
    )
    tap = rng.normal(size=n) * _decay(n, 0.012)
    return (ring + tap) * np.minimum(moments / 0.002, 1.0)


def _bright(rng: np.random.Generator, n: int, decay_s: float | None) -> np.ndarray:
    """Noise that rises with frequency, as of an s or a cymbal."""
    noise = rng.normal(size=n + 1)
    noise = noise[1:] - noise[:-1]
    return noise if decay_s is None else noise * _decay(n, decay_s)


def _decay(n: int, time_s: float) -> np.ndarray:
    return np.exp(-np.arange(n) / (time_s * RATE_HZ))


def _hertz(note: float) -> float:
    return 440.0 * 2.0 ** ((note - 69.0) / 12.0)


def _unit(signal: np.ndarray) -> np.ndarray:
    return signal / np.sqrt(np.mean(signal**2))


def _add(into: np.ndarray, start_s: float, what: np.ndarray, *, wraps: bool = True) -> None:
    """Lay a sound into a longer one; what passes its end begins again at its start, or is cut off."""
    start = round(start_s * RATE_HZ)
    if not wraps:
        what = what[: max(len(into) - start, 0)]
    np.add.at(into, (start + np.arange(len(what))) % len(into), what)
