"""A progress bar on standard error where a person watches; silence when piped."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def step_bar(what: str) -> Iterator[Callable[[str, int, int], None]]:
    """Gives ``step(name, done, whole)``; draws only on a terminal."""
    if not sys.stderr.isatty():
        yield lambda name, done, whole: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        tasks: dict[str, object] = {}

        def step(name: str, done: int, whole: int) -> None:
            if name not in tasks:
                tasks[name] = bar.add_task(name or what, total=whole)
            bar.update(tasks[name], completed=done, total=whole)  # type: ignore[arg-type]

        yield step
