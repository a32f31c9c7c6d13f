"""Numbers, as a script must write and reckon them."""

from __future__ import annotations

import math


def divided(a: float, b: float) -> list[float]:
    """Floor division, remainder, powers."""
    return [a // b, a % b, a**2, abs(a) ** 0.5, -(a**2), 2.0**-b]


def whole(a: int, b: int) -> list[int]:
    """The same of whole numbers."""
    return [a // 7, a % 7, a // b, a % b, -a // 3, int(a / 3), min(a, b), max(a, b, 0)]


def rounded(x: float, places: int) -> list[float]:
    """Round, to the even digit where it is half."""
    return [round(x, places), round(x * 2) / 2, math.floor(x), math.ceil(x), math.trunc(x)]


def halves(n: int) -> list[float]:
    """Exact halves, both signs."""
    return [round(n + 0.5), round((n + 0.5) / 4, 2), round(n * 5.0, -1), round(n * 50.0, -2)]


def in_words(x: float, n: int) -> list[str]:
    """Every way in which core writes a number."""
    return [
        f"{x}", f"{n}", str(x), str(n), f"{x:g}", f"{x:.3g}", f"{x:.1f}", f"{x:.0f}", f"{x:+.2f}",
        f"{x:10.3f}|", f"{x:<10.2e}|", f"{n:05d}", f"{n:>6}|", f"{x:,.2f}", f"{x:.{abs(n) % 5}f}",
        f"{x!r}", repr(x), f"{x:012.4f}", f"{x / 8:.2f}", f"{x:.1%}",
    ]  # fmt: skip


def functions(x: float) -> list[float]:
    """What core takes of math."""
    y = abs(x)
    return [
        math.erf(x), math.erfc(x), math.erfc(-x), math.exp(-y), math.log1p(y), math.expm1(x / 50),
        math.hypot(x, 1.0, y), math.atan2(x, 2.0), math.sqrt(y), math.log10(y + 1e-9),
        math.log(y + 1e-9), math.atanh(math.tanh(x / 9)), math.copysign(2.0, x), math.sin(x),
        math.fsum([x, 1e16, 0.1, -1e16]), sum([x, y, 1.0]),
    ]  # fmt: skip


def compared(a: float, b: float, c: float | None) -> list[bool]:
    """Chains, None, truth."""
    return [
        a < b, a <= b < 10.0, a == b != c, c is None, not c, bool(c or a), (c or 5.0) == 5.0,
        min(a, b) <= max(a, b) <= abs(a) + abs(b), math.isfinite(a / 3), a in (1.0, b),
    ]  # fmt: skip
