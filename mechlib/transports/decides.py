"""What decides what a transport does, piece by piece: keys for results that machines share."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from mechlib.transports.kept import Key, shared

if TYPE_CHECKING:
    from mechlib.transports.model import Transport


@dataclass(frozen=True, eq=False)
class Decides:
    """The pieces; two machines that are alike in one of them are alike in all that it decides.

    >>> from mechlib.transports import load, weak_motor
    >>> sound, weak = load("birch").decides, load("birch").with_faults(weak_motor(50)).decides
    >>> sound.gearing == weak.gearing, sound.closing == weak.closing, sound.losses == weak.losses
    (True, True, False)
    """

    transport: Transport

    @cached_property
    def gearing(self) -> Key:
        """Where every part goes along with theta, slips apart; but a slipped gear takes its gap along."""
        one = self.transport
        missing = tuple((*gap, one.advance_deg[one.part(gap[0]).parent]) for gap in one.missing)
        stages = tuple((stage.start_deg, stage.end_deg, stage.drives) for stage in one.stages)
        parts = tuple((p.name, p.parent, p.parent_teeth, p.parent_speed, p.play_deg) for p in one.parts)
        roots = tuple(root.name for root in one.roots)
        return shared((one.low_deg, one.high_deg, roots, stages, parts, one.off_at, missing))

    @cached_property
    def shifts(self) -> Key:
        """How far each root and part stands ahead of its mark."""
        return shared(self.transport.advance_deg.values())

    @cached_property
    def tracks(self) -> Key:
        """Which part carries which track."""
        return shared((follower.part, follower.programme) for follower in self.transport.followers)

    @cached_property
    def closing(self) -> Key:
        """Where the contacts close."""
        return shared(self.transport.contacts)

    @cached_property
    def blocking(self) -> Key:
        """Where the way is shut, for parts that stand as they do."""
        one = self.transport
        stages = tuple((s.name, s.start_deg, s.end_deg, s.needs, s.solenoid) for s in one.stages)
        stops = tuple((part.low_stop_deg, part.high_stop_deg) for part in one.parts)
        carriers = tuple((follower.name, follower.part) for follower in one.followers)
        return shared((one.interlocks, stages, one.solenoid_pulls, stops, carriers))

    @cached_property
    def course(self) -> Key:
        """What is read and met along the way, and where the drive comes to rest."""
        one, sound = self.transport, self.transport.sound
        motors = tuple((motor.name, motor.dead_senses, motor.coasts) for motor in one.motors)
        stages = tuple((stage.motor, stage.hand_overs) for stage in one.stages)
        codes = tuple((mode.name, mode.code) for mode in one.modes)
        angles = one.coast_deg, one.settle_deg, one.release
        filed = sound.decides.gearing, sound.decides.closing
        moves = self.gearing, self.shifts, self.closing, self.blocking
        return shared((*moves, motors, stages, codes, angles, filed))

    @cached_property
    def standing(self) -> Key:
        """Which follower stands right where."""
        one = self.transport
        followers = tuple(
            (f.name, f.part, f.programme, f.bent_mm, f.states, f.tolerance_mm) for f in one.followers
        )
        return shared((self.shifts, one.cyclic, followers, one.modes, one.controller.watches))

    @cached_property
    def train(self) -> Key:
        """How what is asked of a motion comes to the motor, and what the motor can do."""
        one = self.transport
        stages = tuple((s.start_deg, s.motor, s.efficiency, s.back_efficiency) for s in one.stages)
        parts = tuple((p.name, p.parent, p.mesh_efficiency, p.slip_torque_Nmm, p.speed) for p in one.parts)
        return shared((one.motors, stages, parts))

    @cached_property
    def losses(self) -> Key:
        """What a motion asks of the motor, apart from where parts go and from followers."""
        return shared((self.train, self.transport.drags))

    @cached_property
    def mechanics(self) -> Key:
        """What a motion asks of the motor."""
        return shared((self.gearing, self.losses, self.shifts, self.transport.followers))
