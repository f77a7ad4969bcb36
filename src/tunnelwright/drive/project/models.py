"""The project: everything a plan is made from, checked and unchangeable."""

import hashlib
from typing import Annotated

from pydantic import Field

from tunnelwright.drive.choices import Choices
from tunnelwright.drive.fields import Part, number
from tunnelwright.drive.project.assets import Asset
from tunnelwright.drive.project.calendar import Calendar
from tunnelwright.drive.project.drives import Drive
from tunnelwright.drive.project.ground import Ground
from tunnelwright.drive.project.machines import Machine
from tunnelwright.drive.project.ring_types import RingType


class Project(Part):
    """A programme of drives with their machines, rings, ground, assets and calendar."""

    name: Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9_-]*$")]
    title: str = ""
    city: str = ""
    seed: Annotated[int, Field(ge=0, lt=2**63)] = 1
    water_unit_weight_kn_m3: Annotated[float, number(low=9.7, high=10.6)] = 9.81
    choices: Choices = Choices()
    drives: Annotated[tuple[Drive, ...], Field(min_length=1)]
    machines: Annotated[tuple[Machine, ...], Field(min_length=1)]
    ring_types: Annotated[tuple[RingType, ...], Field(min_length=1)]
    ground: Ground
    assets: tuple[Asset, ...] = ()
    calendar: Calendar = Calendar()

    def drive(self, name: str = "") -> Drive:
        """Return the drive with this name; without a name the only one.

        Raises
        ------
        KeyError
            when there is no such drive, or no name is given and there are several; its text lists the drives.
        """
        wanted = [drive for drive in self.drives if drive.name == name or not name]
        if len(wanted) != 1:
            names = ", ".join(drive.name for drive in self.drives)
            raise KeyError(f"the project has the drives {names}" + (f", not {name}" if name else "; name one of them"))
        return wanted[0]

    def machine_of(self, drive: Drive) -> Machine:
        """Return the machine of a drive."""
        return next(machine for machine in self.machines if machine.name == drive.machine)

    def ring_type_of(self, drive: Drive) -> RingType:
        """Return the ring type of a drive."""
        return next(ring_type for ring_type in self.ring_types if ring_type.name == drive.ring_type)

    @property
    def revision(self) -> str:
        """Return a short digest of everything in the project: two projects with the same one give the same plan."""
        return hashlib.sha256(self.model_dump_json().encode()).hexdigest()[:16]
