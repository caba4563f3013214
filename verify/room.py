"""Packages named like a command: called, they act as that command's function."""

from __future__ import annotations

import sys
from inspect import Signature, signature
from types import ModuleType
from typing import Any


class Room(ModuleType):
    """A package `verify.NAME` that can be called as `verify.NAME(…)`. (`__class__` of a module: Python's data model,
    §3.3.2.1.)
    """

    def __call__(self, *arguments: Any, **options: Any) -> Any:
        return self._function(*arguments, **options)

    @property
    def _function(self) -> Any:
        house, _, name = self.__name__.partition(".")
        return sys.modules[house].public(name)

    @property
    def __signature__(self) -> Signature:
        return signature(self._function)
