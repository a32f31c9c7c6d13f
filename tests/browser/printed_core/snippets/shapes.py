"""Lists, dicts, sets, objects, generators and what is said with them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache
from itertools import chain, combinations, groupby
from typing import NamedTuple

DEFAULT = 2.5
NAMES: Mapping[str, int] = {"one": 1, "two": 2}


class Refused(Exception):
    """An error of core's own."""


class Unlike(Refused, ValueError):
    """One that is a ValueError too."""

    def __init__(self, what: str, size: float) -> None:
        self.what = what
        super().__init__(f"{what} of {size:g}.")


@dataclass(frozen=True, slots=True)
class Base:
    """A thing with defaults."""

    name: str
    size: float = DEFAULT
    more: Mapping[str, float] = field(default_factory=dict)
    double: float = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if self.size < 0.0:
            raise Unlike(self.name, self.size)
        object.__setattr__(self, "double", 2.0 * self.size)

    @property
    def big(self) -> bool:
        """Whether it is big."""
        return self.size > 3.0

    def grown(self, by: float = 1.0, *, times: int = 1) -> float:
        """Return its size, grown."""
        return self.size + by * times

    @classmethod
    def of(cls, name: str) -> Base:
        """Return one of a name."""
        return cls(name, size=float(len(name)))


@dataclass(frozen=True, slots=True)
class Wider(Base):
    """A thing that rests on another."""

    width: float = 1.0

    def grown(self, by: float = 1.0, *, times: int = 1) -> float:
        """Return what it grows to, beside its width."""
        return Base.of(self.name).size + by * times * self.width


class Pair(NamedTuple):
    """Two that go together."""

    left: str
    right: int = 3

    @property
    def both(self) -> str:
        """Both in words."""
        return f"{self.left}{self.right}"


def objects(name: str, size: float) -> list[str | float | bool]:
    """Objects: made, asked, replaced, compared."""
    try:
        one = Base(name, size)
    except ValueError as error:
        return [str(error), isinstance(error, Refused)]
    wide = Wider(name, width=2.0)
    other = replace(one, size=size + 1.0)
    pair = Pair(name)._replace(right=4)
    left, right = pair
    return [
        one.size, one.double, one.big, one.grown(times=3), one.grown(2.0), wide.grown(), wide.size,
        other.size, other.double, one == Base(name, size), one == other, pair.both, left, right,
        pair[0], len(pair.left), pair == Pair(name, 4), Base.of(name).size, isinstance(wide, Base),
        len(one.more),
    ]  # fmt: skip


def dicts(words: list[str]) -> list[object]:
    """Dicts with keys of every sort, in the order in which they came."""
    counted: dict[str, int] = {}
    places: dict[tuple[str, int | None], list[int]] = {}
    for at, word in enumerate(words):
        counted[word] = counted.get(word, 0) + 1
        places.setdefault((word, len(word) if at % 2 else None), []).append(at)
    both = {**NAMES, **counted, "last": 9}
    both |= {"one": 7}
    tally = Counter(words)
    return [
        list(both.items()), [list(k) + v for k, v in places.items()], list(dict.fromkeys(words)),
        {k: v for k, v in both.items() if v > 1}.get("two", 0), tally["never"],
        sorted(tally.items()),
        ("a", None) in places, max(both, key=lambda k: (both[k], k)), len(both | NAMES),
    ]  # fmt: skip


def sets(one: list[str], other: list[str]) -> list[object]:
    """Sets, by what is in them."""
    a, b = set(one), frozenset(other)
    a.add("z")
    return [
        sorted(a | b), sorted(a & b), sorted(a - b), "z" in a, len(a), bool(b), a == {*one, "z"},
        b.issubset(a), not set(one), sorted({w[:1] for w in other}),
    ]  # fmt: skip


def lists(values: list[float]) -> list[object]:
    """Lists: slices, sorting, taking apart."""
    made = [v for v in values if v > 0.0]
    made += [1.0]
    made.append(2.0)
    first, *rest = made
    order = sorted(enumerate(values), key=lambda p: (-round(p[1]), p[0]))
    return [
        made[-1], made[1:], made[:-1], made[::-1], first, rest, order, sorted(values, reverse=True),
        min(values, default=0.0), max(values, key=abs, default=None), sum(v > 0 for v in values),
        any(v > 5 for v in values), all(values), list(zip(values, made, strict=False)),
        [*values, *rest] + made, (0.5, *values)[0], made.index(1.0), made.count(2.0),
        list(reversed(values)), [a + b for a, b in combinations(values[:4], 2)],
        [[k, len(list(g))] for k, g in groupby(sorted(values), key=lambda v: v > 0.0)],
        list(chain(values, rest)), next((v for v in values if v < 0.0), None), values == made,
        values and values[0], (values or [7.0])[0], [i for i in range(10, 0, -3)],
    ]  # fmt: skip


def steps(n: int) -> Iterator[int]:
    """Yield, and yield from."""
    for at in range(n):
        if at == 3:
            continue
        yield at
    yield from (at * 10 for at in range(2))


@cache
def length(words: tuple[str, ...], deep: int = 0) -> int:
    """Remembered by what it is given."""
    return sum(len(word) for word in words) + deep


@lru_cache(maxsize=2)
def twice(x: float) -> float:
    """Remembered for the last few."""
    return 2.0 * x


def loops(n: int) -> list[object]:
    """Loops, with else, break and names that outlast them."""
    found = []
    for at in range(2, n):
        for by in range(2, at):
            if at % by == 0:
                break
        else:
            found.append(at)
    left = n
    while left > 3:
        left //= 2
        if left == 5:
            break
    else:
        found.append(-1)
    total = 0
    if (half := n // 2) > 2:
        total += half
    last = None
    for last in found:
        total += last

    def closer(x: int) -> int:
        nonlocal total
        total += 1
        return x + total

    return [found, left, total, last, list(steps(n)), length(("a", "bc"), n), twice(1.5), closer(3)]


def positive(**values: float) -> str:
    """What was given by name, in words."""
    for name, value in values.items():
        if not value > 0.0:
            return f"{name} is {value}"
    return "good"


def spread(first: str, *others: str, mark: str = "-") -> str:
    """Join what follows."""
    return mark.join([first, *others])


def given(a: float, words: Sequence[str]) -> list[object]:
    """Calls by name, by place and spread out."""
    return [positive(a=a, b=a + 1.0), spread("x"), spread("x", "y", mark="+"), spread("p", *words)]


def caught(key: str, x: float) -> list[object]:
    """Errors that are named, and those that go on."""
    told: list[object] = []
    try:
        told.append(NAMES[key])
    except KeyError:
        told.append("none")
    finally:
        told.append("done")
    try:
        if x < 0.0:
            raise Unlike("x", x) from None
        told.append(int(key))
    except Refused as error:
        told.append(f"{error}")
    except (ValueError, OverflowError):
        told.append("no number")
    return told


def kept(words: list[str], by: float) -> list[object]:
    """Keep figures under sets and add to them in place."""
    found: dict[tuple[str, frozenset[str] | None], float] = {}
    for at, word in enumerate(words):
        key = (word, frozenset(words[: at + 1]) if at % 3 else None)
        found[key] = found.get(key, 0.0) + by
    sums = [0.0, 1.0]
    for at, amount in enumerate(found.values()):
        sums[at % 2] += amount
    same = found.get(("a", frozenset(reversed(words))))
    return [len(found), list(found.values()), sums, same]
