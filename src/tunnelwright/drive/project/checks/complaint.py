"""What a check returns: a Fault that does not know yet in which line it stands."""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    """A reason why the parts of a project do not fit together.

    Parameters
    ----------
    path : of the field in the project, for example ``("ground", "boreholes", 3, "depth_m")``.
    given, required, hint : as in a Fault.
    """

    path: Path
    given: str
    required: str
    hint: str = ""


def did_you_mean(given: str, known: Iterable[str]) -> str:
    """Return the hint for a name that is not known."""
    names = list(known)
    near = difflib.get_close_matches(given, names, n=1, cutoff=0.6) or difflib.get_close_matches(
        given.lower(), [name.lower() for name in names], n=1, cutoff=0.6
    )
    if near:
        spelled = next(name for name in names if name.lower() == near[0].lower())
        return f"did you mean `{spelled}`?"
    return "known: " + ", ".join(names[:12]) if names else "there is none yet"
