"""A reference for people who make botanical contact prints: what to leave out, and how to work with the rest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"
__all__ = ["Reference", "__version__"]

if TYPE_CHECKING:
    from .reference import Reference


def __getattr__(name: str) -> Any:
    # Loaded when asked for, so that `import folioproof` stays light for the tools that only want the version.
    if name == "Reference":
        from .reference import Reference

        return Reference
    raise AttributeError(name)
