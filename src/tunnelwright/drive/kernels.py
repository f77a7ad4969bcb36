"""Methods by id, as a project names them; importing this module fills the registry."""

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.method import METHODS, Method

load_methods()


def kernel(method_id: str) -> Method:
    """Return the registered method with this id; calling it runs the kernel.

    Raises
    ------
    KeyError
        when there is none.
    """
    return METHODS[method_id]
