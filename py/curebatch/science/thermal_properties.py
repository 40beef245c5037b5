"""Thermal properties of raw and cooked meat mixes, from what they are made of.

Component polynomials of Choi and Okos (1986), as in the ASHRAE Refrigeration
Handbook, "Thermal Properties of Foods". Mixing: specific heat by mass, the
inverse of the density by mass, conductivity by volume (components side by
side, which suits an unfrozen batter; frozen it reads somewhat high).

SI throughout: kg, J, W, m, s; temperatures in degC. A temperature outside the
polynomials' range is an error, never the last value.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

_COMPONENTS = ("water", "protein", "fat", "carbohydrate", "fibre", "ash", "salt")
COLDEST, HOTTEST = -40.0, 150.0  # degC, range of the polynomials

# a, b, c of a + b T + c T^2, T in degC. The slope of fat's conductivity is e-4; some prints say e-3.
_CONDUCTIVITY = {  # W/(m K)
    "protein": (1.7881e-1, 1.1958e-3, -2.7178e-6),
    "fat": (1.8071e-1, -2.7604e-4, -1.7749e-7),
    "carbohydrate": (2.0141e-1, 1.3874e-3, -4.3312e-6),
    "fibre": (1.8331e-1, 1.2497e-3, -3.1683e-6),
    "ash": (3.2962e-1, 1.4011e-3, -2.9069e-6),
    "water": (5.7109e-1, 1.7625e-3, -6.7036e-6),
    "ice": (2.2196, -6.2489e-3, 1.0154e-4),
}
_DENSITY = {  # kg/m3
    "protein": (1329.9, -0.51840, 0.0),
    "fat": (925.59, -0.41757, 0.0),
    "carbohydrate": (1599.1, -0.31046, 0.0),
    "fibre": (1311.5, -0.36589, 0.0),
    "ash": (2423.8, -0.28063, 0.0),
    "water": (997.18, 3.1439e-3, -3.7574e-3),
    "ice": (916.89, -0.13071, 0.0),
}
_SPECIFIC_HEAT = {  # J/(kg K)
    "protein": (2008.2, 1.2089, -1.3129e-3),
    "fat": (1984.2, 1.4733, -4.8008e-3),
    "carbohydrate": (1548.8, 1.9625, -5.9399e-3),
    "fibre": (1845.9, 1.8306, -4.6509e-3),
    "ash": (1092.6, 1.8896, -3.6817e-3),
    "water": (4176.2, -9.0864e-2, 5.4731e-3),
    "ice": (2062.3, 6.0769, 0.0),
}
COMPONENTS = tuple(_CONDUCTIVITY)

LATENT_HEAT = 333.4e3  # J/kg of ice at 0 degC; 333.4 to 333.6 in print
BOUND_WATER = 0.4  # kg of water that never freezes, per kg of protein (Chen)
# Freezing-point lowering in K, per kg of the solute in a kg of water that can freeze.
SALT_LOWERS = 60.0  # about 0.6 K for 1 % salt: from memory, check before relying on it
# Meat brings its own solutes, which go with its protein. Estimate of this project,
# set so that lean pork and beef begin to freeze at about -2 degC.
PROTEIN_LOWERS = 6.4


class OutOfRange(ValueError):
    """A value that a formula does not cover: which quantity, what was given, and its range."""

    def __init__(self, quantity: str, value: float, low: float, high: float):
        super().__init__(f"{quantity} {value} is not within {low} to {high}")
        self.quantity, self.value, self.low, self.high = quantity, value, low, high


def within(quantity: str, value: float, low: float, high: float) -> float:
    """``value`` if it lies within ``low`` to ``high``, both allowed; else OutOfRange. NaN is never within."""
    if not low <= value <= high:
        raise OutOfRange(quantity, value, low, high)
    return value


def _polynomial(table: dict, component: str, temperature: float) -> float:
    a, b, c = table[component]
    warmest = 0.0 if component == "ice" else HOTTEST
    t = within("temperature", temperature, COLDEST, warmest)
    return a + b * t + c * t * t


def component_conductivity(component: str, temperature: float) -> float:
    """Thermal conductivity of one component.

    component: one of COMPONENTS; temperature [degC, -40 to 150, ice to 0].
    Returns [W/(m K)]. Raises OutOfRange. Source: Choi & Okos 1986.
    """
    return _polynomial(_CONDUCTIVITY, component, temperature)


def component_density(component: str, temperature: float) -> float:
    """Density of one component.

    component: one of COMPONENTS; temperature [degC, -40 to 150, ice to 0].
    Returns [kg/m3]. Raises OutOfRange. Source: Choi & Okos 1986.
    """
    return _polynomial(_DENSITY, component, temperature)


def component_specific_heat(component: str, temperature: float) -> float:
    """Specific heat of one component.

    component: one of COMPONENTS; temperature [degC, -40 to 150, ice to 0].
    Returns [J/(kg K)]. Raises OutOfRange. Source: Choi & Okos 1986. Water's row is
    the one from 0 degC upwards, used below as well for water that is not frozen.
    """
    return _polynomial(_SPECIFIC_HEAT, component, temperature)


def _component_enthalpy(component: str, temperature: float) -> float:
    """Heat above 0 degC without change of state [J/kg]: the integral of the specific heat."""
    a, b, c = _SPECIFIC_HEAT[component]
    warmest = 0.0 if component == "ice" else HOTTEST
    t = within("temperature", temperature, COLDEST, warmest)
    return t * (a + t * (b / 2 + t * c / 3))


@dataclass(frozen=True)
class Composition:
    """What a mix is made of, in mass fractions [1] that add up to one.

    ``ash`` is without the added ``salt``; both have the properties of ash, and
    salt also lowers the freezing point. A row of a food table rarely adds up:
    take it in by ``scaled``. Raises OutOfRange.
    """

    water: float
    protein: float = 0.0
    fat: float = 0.0
    carbohydrate: float = 0.0
    fibre: float = 0.0
    ash: float = 0.0
    salt: float = 0.0

    def __post_init__(self) -> None:
        for name, share in zip(_COMPONENTS, self.shares, strict=True):
            within(name, share, 0.0, 1.0 + 1e-9)
        within("sum of the components", sum(self.shares), 1 - 1e-6, 1 + 1e-6)

    @property
    def shares(self) -> tuple[float, ...]:
        """The mass fractions [1], in the order of _COMPONENTS."""
        return (self.water, self.protein, self.fat, self.carbohydrate, self.fibre, self.ash, self.salt)

    @classmethod
    def scaled(cls, **parts: float) -> Composition:
        """A table row made to add up to one.

        parts: mass fractions [1] by component name; their sum [0.94 to 1.06], as wide
        as meat rows of the food table scatter. Raises OutOfRange.
        """
        total = within("sum of the components", sum(parts.values()), 0.94, 1.06)
        return cls(**{name: part / total for name, part in parts.items()})

    @property
    def free_water(self) -> float:
        """Water that can freeze [1]: all but what the protein binds."""
        return max(0.0, self.water - BOUND_WATER * self.protein)

    def parts(self, ice: float = 0.0) -> tuple[tuple[str, float], ...]:
        """(component, mass fraction [1]) with ``ice`` [1, 0 to water] of the water frozen."""
        return (
            ("water", self.water - ice), ("ice", ice), ("protein", self.protein), ("fat", self.fat),
            ("carbohydrate", self.carbohydrate), ("fibre", self.fibre), ("ash", self.ash + self.salt),
        )


WATER = Composition(water=1.0)
SALT = Composition(water=0.0, salt=1.0)
DRY = Composition(water=0.1, carbohydrate=0.9)  # spices, starches, binders that no table tells of: estimate of this project


def mixed(parts: Iterable[tuple[float, Composition]]) -> Composition:
    """The composition of several things together.

    parts: (mass [any one unit, 0 or more], Composition). Returns a Composition.
    Raises OutOfRange for a negative mass or none at all.
    """
    rows = [(within("mass", mass, 0.0, float("inf")), what.shares) for mass, what in parts]
    total = sum(mass for mass, _ in rows)
    if not 0 < total < float("inf"):
        raise OutOfRange("mass of the mix", total, 0.0, float("inf"))
    return Composition(*(sum(mass * row[i] for mass, row in rows) / total for i in range(len(_COMPONENTS))))


def freezing_point(composition: Composition) -> float | None:
    """Where the first ice forms, or the last melts, once salt and water are mixed.

    Returns [degC, 0 or below], or None where no water can freeze. Solutes lower it in
    proportion to what is dissolved in the free water: meat at about -2 degC by itself,
    0.6 K more for 1 % of salt in the water (from memory, check before relying on it).
    """
    if not composition.free_water:
        return None
    lowering = PROTEIN_LOWERS * composition.protein + SALT_LOWERS * composition.salt
    return -lowering / composition.free_water + 0.0


def ice_fraction(composition: Composition, temperature: float, freezing: float | None = None) -> float:
    """Ice in a mix at rest at one temperature.

    temperature [degC, -40 to 150]; freezing [degC, 0 or below], where known better than
    by freezing_point. Returns kg of ice per kg of the mix [1]; pure water at 0 degC
    counts as melted. Raises OutOfRange.
    Source: Raoult's law with bound water, as in Chen's enthalpy: free water x (1 - freezing / T).
    """
    within("temperature", temperature, COLDEST, HOTTEST)
    start = freezing_point(composition) if freezing is None else within("freezing point", freezing, COLDEST, 0.0)
    if start is None or temperature >= start:
        return 0.0
    return composition.free_water * (1 - start / temperature)


def _split(composition: Composition, temperature: float, freezing: float | None) -> tuple[tuple[str, float], ...]:
    ice = ice_fraction(composition, temperature, freezing)
    return tuple((name, part) for name, part in composition.parts(ice) if part)


def density(composition: Composition, temperature: float, freezing: float | None = None) -> float:
    """Density without air bubbles.

    temperature [degC, -40 to 150]; freezing [degC], as for ice_fraction. Returns [kg/m3].
    Raises OutOfRange. Source: Choi & Okos 1986, inverse densities by mass.
    """
    return 1 / sum(part / component_density(name, temperature) for name, part in _split(composition, temperature, freezing))


def conductivity(composition: Composition, temperature: float, freezing: float | None = None) -> float:
    """Thermal conductivity.

    temperature [degC, -40 to 150]; freezing [degC], as for ice_fraction. Returns [W/(m K)].
    Raises OutOfRange. Source: Choi & Okos 1986, components in parallel, by volume.
    """
    volumes = [(name, part / component_density(name, temperature)) for name, part in _split(composition, temperature, freezing)]
    return sum(volume * component_conductivity(name, temperature) for name, volume in volumes) / sum(volume for _, volume in volumes)


def specific_heat(composition: Composition, temperature: float, freezing: float | None = None) -> float:
    """Specific heat; below the freezing point the apparent one, with the heat of melting in it.

    temperature [degC, -40 to 150]; freezing [degC], as for ice_fraction. Returns [J/(kg K)].
    Raises OutOfRange. Source: Choi & Okos 1986, by mass; the slope of enthalpy().
    """
    sensible = sum(part * component_specific_heat(name, temperature) for name, part in _split(composition, temperature, freezing))
    start = freezing_point(composition) if freezing is None else freezing
    if start is None or temperature >= start:
        return sensible
    return sensible + composition.free_water * -start / temperature**2 * _heat_of_melting(temperature)


def _heat_of_melting(temperature: float) -> float:
    """Heat that a kg of ice takes up to be water of the same temperature [J/kg]."""
    return LATENT_HEAT + _component_enthalpy("water", temperature) - _component_enthalpy("ice", temperature)


def diffusivity(composition: Composition, temperature: float, freezing: float | None = None) -> float:
    """Thermal diffusivity, conductivity / (density x specific heat).

    temperature [degC, -40 to 150]; freezing [degC], as for ice_fraction. Returns [m2/s].
    Raises OutOfRange.
    """
    at = (composition, temperature, freezing)
    return conductivity(*at) / (density(*at) * specific_heat(*at))


def enthalpy(composition: Composition, temperature: float, freezing: float | None = None) -> float:
    """Heat content, counted from the same mix unfrozen at 0 degC.

    temperature [degC, -40 to 150]; freezing [degC], as for ice_fraction. Returns [J/kg],
    rising with temperature. Raises OutOfRange.
    Source: integral of the Choi & Okos specific heats, less the heat of melting of the ice.
    """
    ice = ice_fraction(composition, temperature, freezing)
    heat = sum(part * _component_enthalpy(name, temperature) for name, part in composition.parts(ice) if part)
    return heat - ice * LATENT_HEAT


def ice_enthalpy(temperature: float) -> float:
    """Heat content of clean ice, counted from water at 0 degC.

    temperature [degC, -40 to 0]. Returns [J/kg], -333.4e3 at 0. Raises OutOfRange.
    """
    return _component_enthalpy("ice", temperature) - LATENT_HEAT


def temperature_at(composition: Composition, heat: float, freezing: float | None = None) -> float:
    """The temperature at which a mix has a given heat content: the inverse of enthalpy().

    heat [J/kg, within what -40 to 150 degC hold]; freezing [degC], as for ice_fraction.
    Returns [degC], to a millionth of a kelvin. Raises OutOfRange.
    """
    low, high = COLDEST, HOTTEST
    within("heat content", heat, enthalpy(composition, low, freezing), enthalpy(composition, high, freezing))
    while high - low > 1e-6:
        middle = (low + high) / 2
        if enthalpy(composition, middle, freezing) < heat:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def temperature_when_frozen(composition: Composition, share: float, freezing: float | None = None) -> float:
    """How cold a mix is that is partly frozen: "half frozen" as a temperature.

    share [1, 0 to what -40 degC freezes]: of its freezable water that is ice.
    Returns [degC]. Raises OutOfRange. Source: ice_fraction, solved for the temperature.
    """
    start = freezing_point(composition) if freezing is None else within("freezing point", freezing, COLDEST, 0.0)
    if start is None:
        raise OutOfRange("frozen share of what cannot freeze", share, 0.0, 0.0)
    within("frozen share", share, 0.0, 1 - start / COLDEST)
    return start / (1 - share) if share < 1 else COLDEST


def chen_enthalpy(solids: float, water: float, protein: float, freezing: float, temperature: float) -> float:
    """Chen's enthalpy of fresh and frozen meat, counted from -40 degC: for checks beside enthalpy().

    solids, water, protein [1, 0 to 1]; freezing [degC, -40 to below 0]: where ice begins;
    temperature [degC, -40 to 150]. Returns [J/kg]. Raises OutOfRange.
    Source: Chen 1985, as in the ASHRAE Refrigeration Handbook, "Thermal Properties of Foods".
    """
    for name, part in (("solids", solids), ("water", water), ("protein", protein)):
        within(name, part, 0.0, 1.0)
    within("freezing point", freezing, COLDEST, -1e-9)
    within("temperature", temperature, COLDEST, HOTTEST)

    def frozen(t: float) -> float:
        ice_term = (water - BOUND_WATER * protein) * 333.6 * freezing / (40 * t)
        return (t + 40) * (1.55 + 1.26 * solids + ice_term)

    if temperature <= freezing:
        return 1000 * frozen(temperature)
    return 1000 * (frozen(freezing) + (temperature - freezing) * (4.19 - 2.30 * solids - 0.628 * solids**3))
