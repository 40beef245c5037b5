"""What a curing salt is made of: conversions between nitrite as ion and as salt.

Molar masses follow from the standard atomic weights (IUPAC, abridged values:
Na 22.990, K 39.098, N 14.007, O 15.999).
"""

from __future__ import annotations

from fractions import Fraction

_NA, _K, _N, _O = (Fraction(text) for text in ("22.990", "39.098", "14.007", "15.999"))
MOLAR_MASS = {
    "NaNO2": _NA + _N + 2 * _O,
    "KNO2": _K + _N + 2 * _O,
    "NO2-": _N + 2 * _O,
    "NaNO3": _NA + _N + 3 * _O,
    "KNO3": _K + _N + 3 * _O,
    "NO3-": _N + 3 * _O,
}
"""Grams per mole of each compound [g/mol]."""
_AS_SODIUM = {compound: MOLAR_MASS["NaNO2"] / mass for compound, mass in MOLAR_MASS.items()}


def as_sodium_nitrite(share: Fraction, compound: str) -> Fraction:
    """A share counted as ``compound`` as the share of sodium nitrite with the same nitrite.

    share: mass share [1]; compound: "NaNO2", "NO2-" or "KNO2". Raises KeyError for another.
    """
    return share if compound == "NaNO2" else share * _AS_SODIUM[compound]


def counted_as(share: Fraction, compound: str) -> Fraction:
    """A share of sodium nitrite counted as ``compound``; the way back of ``as_sodium_nitrite``."""
    return share if compound == "NaNO2" else share / _AS_SODIUM[compound]


def carrier_salt(share: Fraction, compound: str) -> Fraction:
    """The share of a curing salt that is common salt, the rest being its nitrite.

    share: nitrite on the label [1], counted as ``compound``. A label that counts
    the ion is taken to hold sodium nitrite.
    """
    return 1 - (as_sodium_nitrite(share, "NO2-") if compound == "NO2-" else share)
