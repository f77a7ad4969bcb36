"""Pure kernels: numbers in, a small record out. One package per topic; importing a topic registers its methods."""

import importlib
import pkgutil


def topics() -> tuple[str, ...]:
    """Return the names of the topic packages."""
    return tuple(sorted(module.name for module in pkgutil.iter_modules(__path__) if module.ispkg))


def load_methods() -> None:
    """Import every topic so that its methods stand in the registry."""
    for topic in topics():
        importlib.import_module(f"{__name__}.{topic}")
