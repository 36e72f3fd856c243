"""Time as bits: one big integer holds one bit for each slot of the grid.

Whole calendars are combined with a few machine-word operations each, which is what makes an
exact earliest fit fast. Bit ``t`` of a *free* mask says that slot ``[t, t + 1)`` is free.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from scheduling.core.values import Window


def span(start: int, end: int) -> int:
    """Return a mask with the slots ``[start, end)`` set; empty if the end is not after it."""
    return ((1 << (end - start)) - 1) << start if end > start else 0


def runs(mask: int, length: int, have: int = 1) -> int:
    """Return the slots from which ``length`` slots in a row are set (``length`` at least 1).

    ``mask`` may already be the answer for a shorter length, ``have``.
    """
    while have < length and mask:
        step = length - have
        if step > have:
            step = have
        mask &= mask >> step
        have += step
    return mask


def stand(seeds: int, free: int) -> int:
    """Return every moment reached from a seed by standing still in free slots.

    Moment ``t`` is reached from seed ``e`` when the slots ``e`` to ``t - 1`` are all free. The
    carry of one addition runs through each free stretch from its lowest seed.
    """
    inside = seeds & free
    return ((free + inside) ^ free) | seeds


def stand_between(seeds: int, free: int, least: int, most: int | None) -> int:
    """Return the moments reached by standing still for ``least`` to ``most`` slots."""
    if least:
        seeds = (seeds & runs(free, least)) << least
    if most is None:
        return stand(seeds, free)
    reached, covered = seeds, 0
    passable, width = free, 1
    while covered < most - least and reached:
        step = min(covered + 1, most - least - covered)
        while width < step:
            grow = min(width, step - width)
            passable &= passable >> grow
            width += grow
        here = passable if width == step else runs(free, step)
        reached |= (reached & here) << step
        covered += step
    return reached


def lowest(mask: int) -> int:
    """Return the number of the lowest set bit; the mask is not empty."""
    return (mask & -mask).bit_length() - 1


def highest(mask: int) -> int:
    """Return the number of the highest set bit; the mask is not empty."""
    return mask.bit_length() - 1


def at_least(masks: Iterable[int], count: int) -> int:
    """Return the bits that are set in at least ``count`` (1 or more) of the masks."""
    levels = [0] * (count + 1)
    for mask in masks:
        for k in range(count, 1, -1):
            levels[k] |= levels[k - 1] & mask
        levels[1] |= mask
    return levels[count]


def spans_of_work(windows: Sequence[Window], work: int) -> Iterator[tuple[int, int]]:
    """Yield ``(elapsed, starts)`` for pausable work of ``work`` slots over working windows.

    Work begun at a set bit of ``starts`` ends ``elapsed`` slots later. Elapsed takes only a
    handful of values, one for each combination of breaks and nights that is slept over.
    """
    done = [0]
    for start, end in windows:
        done.append(done[-1] + end - start)
    by_elapsed: dict[int, int] = {}
    last = 0
    for i, (start, _) in enumerate(windows):
        last = max(last, i)
        j = last
        while j < len(windows) and done[j + 1] < done[i] + work:
            j += 1
        last = j
        while j < len(windows):
            low = max(done[i], done[j] - work + 1)
            high = min(done[i + 1], done[j + 1] - work + 1)
            if low >= done[i + 1]:
                break
            elapsed = work + (windows[j][0] - start) - (done[j] - done[i])
            shift = start - done[i]
            by_elapsed[elapsed] = by_elapsed.get(elapsed, 0) | span(low + shift, high + shift)
            j += 1
    yield from sorted(by_elapsed.items())
