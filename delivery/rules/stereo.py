"""The two channels compared. Signs only: width, imbalance and delay may all be intended."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from delivery.model.finding import NotMet, Weight
from delivery.rules.integrity import one_channel
from delivery.rules.limits import count, number
from delivery.rules.rule import rule
from delivery.rules.words import DB, Magnitude, Unit, at_most, counted, listed

REQUIRED_HZ = (40.0, 4500.0)
"""Octaves in which a loss removes notes and voices; above, it removes only air."""

balance_wanted = at_most(DB)
loss_wanted = at_most(DB)


def frames(limit: int) -> str:
    """The greatest number of samples, as the requirement states it."""
    return f"at most {counted(limit, 'sample')}"


def hertz(hz: float) -> str:
    """'300 Hz', '1.5 kHz'."""
    return f"{hz:g} Hz" if hz < 1000 else f"{hz / 1000:g} kHz"


@rule(
    id="balance_max_db",
    limit=number(DB, minimum=0, maximum=100),
    needs=("balance_db",),
    weight=Weight.STRONG_SIGN,
    source="common practice, no source: left over right, RMS over the file",
    sentence="one channel is louder than the other by {limit}",
    value_text=Magnitude(DB),
    limit_text=balance_wanted,
    aside=one_channel,
)
def channel_balance(balance_db: float, limit: float) -> Iterator[NotMet]:
    """Neither channel is much louder than the other over the whole file; a worn cable or a wrong pan law shows so."""
    if abs(balance_db) > limit:
        side = "left" if balance_db > 0 else "right"
        yield NotMet(
            f"{DB.beside(abs(balance_db), limit)} more on the {side}",
            balance_wanted(limit),
            "compare with the mix; a render with balanced channels",
            settled_if="if intended",
        )


@rule(
    id="mono_loss_octave_max_db",
    limit=number(DB, minimum=0, maximum=100),
    needs=("octave_hz", "mono_loss_octaves_db"),
    weight=Weight.STRONG_SIGN,
    source="common practice, no source: level lost in the mono sum, octaves of 63 Hz to 4 kHz, over the file",
    sentence="each octave from 63 Hz to 4 kHz loses {limit} in mono",
    limit_text=loss_wanted,
    aside=one_channel,
)
def mono_loss(octave_hz: Sequence[float], mono_loss_octaves_db: Sequence[float], limit: float) -> Iterator[NotMet]:
    """No octave is lost in the sum of both channels: on one loudspeaker, a telephone, in a club."""
    losses = {
        hz: loss
        for hz, loss in zip(octave_hz, mono_loss_octaves_db, strict=True)
        if REQUIRED_HZ[0] < hz < REQUIRED_HZ[1] and loss > limit
    }
    if losses:
        worst = max(losses, key=lambda hz: losses[hz])
        where = listed(map(hertz, losses))
        yield NotMet(
            f"{DB.beside(losses[worst], limit)} lost at {hertz(worst)}"
            + (f" (too much at {where})" if len(losses) > 1 else ""),
            loss_wanted(limit),
            "listen in mono; a render with less out of phase there",
            settled_if="if intended",
        )


@rule(
    id="channel_delay_max",
    limit=count(Unit("samples", 0)),
    needs=("channel_delay_frames",),
    weight=Weight.STRONG_SIGN,
    source="common practice, no source: peak of the whitened correlation of both channels over the file",
    sentence="one channel is later than the other by {limit}",
    value_text=lambda delay: counted(abs(delay), "sample"),
    limit_text=frames,
    aside=one_channel,
)
def channel_delay(channel_delay_frames: int, limit: int) -> Iterator[NotMet]:
    """The channels are not shifted against each other as a whole, as by a converter or a wrong edit."""
    if abs(channel_delay_frames) > limit:
        side = "right" if channel_delay_frames > 0 else "left"
        yield NotMet(
            f"the {side} channel is {counted(abs(channel_delay_frames), 'sample')} late",
            frames(limit),
            "compare with the mix; a render whose channels start together",
            settled_if="if intended",
        )
