"""The units that readings may be typed in, each with its exact factor and how it is spelled."""

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Final

from benchrun.lean_dataclass import lean_dataclass

# Pi to 40 places: angles in radians are the only units without an exact ratio.
PI: Final = Fraction("3.1415926535897932384626433832795028841972")
_INCH: Final = Fraction("25.4")  # mm, exact by the international yard of 1959
_POUND: Final = Fraction("453.59237")  # g, exact by the international pound of 1959
_GRAVITY: Final = Fraction("9.80665")  # m/s², exact by definition
_LBF: Final = _POUND / 1000 * _GRAVITY  # N
_PSI: Final = _LBF / (_INCH / 1000) ** 2  # Pa
_US_GALLON: Final = 231 * _INCH**3 / 1000  # ml, 231 cubic inches
_IMP_GALLON: Final = Fraction("4546.09")  # ml
_LONG_TON: Final = 2240  # pounds
_BTU: Final = _POUND / 1000 * Fraction(5, 9) * Fraction("4186.8")  # J, international table


@lean_dataclass(frozen=True, slots=True)
class Unit:
    """One unit that a reading may be typed in.

    Attributes:
        name: The canonical name that logs, procedures and results use.
        dimension: What it measures, in a word; units of one dimension convert into each other.
        factor: How many of the dimension's base unit one of it is.
        offset: Added after the factor, for temperatures as points.
        spellings: Other ways to type it, besides its name.
        shown: How a face writes it.
    """

    name: str
    dimension: str
    factor: Fraction
    offset: Fraction = Fraction(0)
    spellings: tuple[str, ...] = ()
    shown: str = ""


# dimension -> (example to type, rows of (name, factor, spellings)).
_Rows = tuple[tuple[str, Fraction | int | str, str], ...]


def _gallons(whose: str, gallon: Fraction, ounces: int, also: str) -> _Rows:
    """The measures of volume that a gallon makes, each named by whose it is."""
    measures = (("gal", 1, "gallon|gallons"), ("qt", 4, "quart|quarts"), ("pt", 8, "pint|pints"),
                ("gill", 32, "gills"), ("fl oz", ounces, "fluidounce|fluidounces"))  # fmt: skip
    owners = (whose.casefold(), *also.split("|"))
    return tuple(
        (
            f"{whose} {name}",
            gallon / parts,
            "|".join(f"{owner}{word}" for owner in owners for word in f"{name}|{words}".split("|")),
        )
        for name, parts, words in measures
    )


TABLE: Final[Mapping[str, tuple[str, _Rows]]] = {
    "number": ("3 or 0.75", (("", 1, ""),)),
    "percentage": ("65 or 65 %", (("%", 1, "pct|percent"),)),
    "length": (
        "25.43, 25,43 or 1.0012in",
        (
            ("mm", 1, "millimetre|millimeter"),
            ("µm", Fraction(1, 1000), "um|µ|u|micron|microns|mu"),
            ("cm", 10, ""),
            ("m", 1000, "metre|meter"),
            ("in", _INCH, "inch|inches|\"|″|''"),
            ("thou", _INCH / 1000, "mil|mils"),
            ("tenth", _INCH / 10000, "tenths"),
            ("µin", _INCH / 10**6, "uin|microinch|microinches"),
            ("ft", _INCH * 12, "foot|feet|'|′"),
            ("km", 10**6, "kilometre|kilometer|kilometres|kilometers"),
            ("mile", _INCH * 12 * 5280, "mi|miles"),
        ),
    ),
    "area": (
        "0.42 or 650 in2",
        (
            ("m²", 1, "m2|sqm|m^2"),
            ("cm²", Fraction(1, 10**4), "cm2|sqcm|cm^2"),
            ("mm²", Fraction(1, 10**6), "mm2|sqmm|mm^2"),
            ("dm²", Fraction(1, 100), "dm2|dm^2"),
            ("in²", (_INCH / 1000) ** 2, "in2|sqin|in^2"),
            ("ft²", (_INCH * 12 / 1000) ** 2, "ft2|sqft|ft^2"),
        ),
    ),
    "volume": (
        "250 or 1.5 l",
        (
            ("ml", 1, "millilitre|milliliter|cc"),
            ("l", 1000, "litre|liter|litres|liters"),
            ("cm³", 1, "cm3|cm^3"),
            ("m³", 10**6, "m3|m^3"),
            ("mm³", Fraction(1, 1000), "mm3|mm^3"),
            ("dm³", 1000, "dm3|dm^3"),
            ("in³", _INCH**3 / 1000, "in3|in^3|cuin"),
            *_gallons("US", _US_GALLON, 128, "us"),
            *_gallons("imp", _IMP_GALLON, 160, "imperial|uk"),
        ),
    ),
    "mass": (
        "250 or 1.5 kg",
        (
            ("g", 1, "gram|grams"),
            ("kg", 1000, "kilo|kilos|kilogram"),
            ("mg", Fraction(1, 1000), ""),
            ("lb", _POUND, "lbs|pound|pounds"),
            ("oz", _POUND / 16, "ounce|ounces"),
            ("t", 10**6, "tonne|tonnes"),
            ("st", _POUND * 14, "stone"),
            ("imp cwt", _POUND * 112, "imperialcwt|ukcwt|longcwt"),
            ("US cwt", _POUND * 100, "shortcwt"),
            ("imp ton", _POUND * _LONG_TON, "imperialton|ukton|longton|longtons"),
            ("US ton", _POUND * 2000, "shortton|shorttons"),
        ),
    ),
    "density": (
        "1.58 or 1580 kg/m3",
        (
            ("g/ml", 1, "g/cm³|g/cm3|g/cc|kg/l|sg"),
            ("kg/m³", Fraction(1, 1000), "kg/m3|kg/m^3"),
            ("g/l", Fraction(1, 1000), "gram/litre"),
            ("mg/l", Fraction(1, 10**6), ""),
            ("lb/US gal", _POUND / _US_GALLON, ""),
        ),
    ),
    "force": (
        "45 kN or 1200 lbf",
        (
            ("N", 1, "newton|newtons"),
            ("kN", 1000, ""),
            ("lbf", _LBF, "lb|lbs|pound|pounds"),
            ("kgf", _GRAVITY, "kg|kp"),
            ("ozf", _LBF / 16, "oz"),
            ("imp cwtf", _LBF * 112, "impcwt|imperialcwt|ukcwt|longcwt"),
            ("US cwtf", _LBF * 100, "uscwt|shortcwt"),
            ("imp tonf", _LBF * _LONG_TON, "imperialtonf|uktonf|longtonf|impton|ukton|longton"),
            ("US tonf", _LBF * 2000, "shorttonf|uston|shortton"),
        ),
    ),
    "torque": (
        "61, 45 ft lb or 540 in lb",
        (
            ("N m", 1, "nm|newtonmetre|newtonmeter"),
            ("kN m", 1000, "knm"),
            ("N cm", Fraction(1, 100), "ncm"),
            ("N mm", Fraction(1, 1000), "nmm"),
            (
                "ft lb",
                _LBF * _INCH * 12 / 1000,
                "ftlbf|lbft|lbfft|ftlbs|lbsft|footpounds|poundfeet",
            ),
            ("in lb", _LBF * _INCH / 1000, "inlbf|lbin|lbfin|inlbs|lbsin|inchpounds"),
            ("in oz", _LBF / 16 * _INCH / 1000, "inozf|ozin|ozfin"),
            ("kgf m", _GRAVITY, "kgfm|kgm|mkg|kpm|mkgf"),
            ("kgf cm", _GRAVITY / 100, "kgfcm|kgcm|cmkg|kpcm|cmkgf"),
        ),
    ),
    "pressure": (
        "6.5 bar or 95 psi",
        (
            ("Pa", 1, ""),
            ("kPa", 1000, ""),
            ("MPa", 10**6, "n/mm2|n/mm²|n/mm^2"),
            ("GPa", 10**9, "kn/mm2|kn/mm²"),
            ("bar", 10**5, ""),
            ("mbar", 100, "hpa"),
            ("psi", _PSI, "lbf/in2|lb/in2|lbf/in²|lb/in²"),
            ("ksi", _PSI * 1000, ""),
            ("atm", 101325, ""),
            ("tsi", _PSI * _LONG_TON, "tonf/in2|tonf/in²|ton/in2|ton/in²|tons/in2|tons/in²"),
            ("kgf/cm²", _GRAVITY * 10**4, "kgf/cm2|kg/cm2|kg/cm²|kp/cm2|kp/cm²|kgf/cm^2"),
            ("kgf/mm²", _GRAVITY * 10**6, "kgf/mm2|kg/mm2|kg/mm²|kp/mm2|kp/mm²|kgf/mm^2"),
        ),
    ),
    "temperature": ("20, 20 C or 68 F", (("degC", 1, "c"), ("degF", Fraction(5, 9), "f"))),
    "temperature difference": (
        "3 K, 3 C or 5 F",
        (
            ("K", 1, "kelvin"),
            ("delta degC", 1, "c|degc"),
            ("delta degF", Fraction(5, 9), "f|degf"),
        ),
    ),
    "time": (
        "90 s, 12 min or 1.5 h",
        (
            ("min", 60, "mins|minute|minutes"),
            ("s", 1, "sec|secs|second|seconds"),
            ("h", 3600, "hr|hrs|hour|hours"),
            ("d", 86400, "day|days"),
        ),
    ),
    "angle": (
        "30 or 30 deg",
        (
            ("deg", 1, "degree|degrees|°"),
            ("arcmin", Fraction(1, 60), "'|′|min|minute|minutes"),
            ("rad", 180 / PI, "radian|radians"),
            ("turn", 360, "turns|rev"),
        ),
    ),
    "expansion": (
        "11.7 or 11.7e-6/K",
        (
            (
                "µm/m/K",
                Fraction(1, 10**6),
                "um/m/k|um/(mk)|um/mk|um/m/c|ppm/k|ppm/c|e6/k",
            ),
            ("/K", 1, "1/k|/c|1/c|per k|per c|/degc|1/degc|m/m/k|mm/mm/k|mm/mm/c|m/(mk)"),
            ("/degF", Fraction(9, 5), "1/f|/f|per f|1/degf|in/in/f"),
        ),
    ),
    "coverage": (
        "8.5 m2/l",
        (
            ("m²/l", 1, "m2/l|m^2/l"),
            ("ft²/US gal", (_INCH * 12 / 1000) ** 2 / (_US_GALLON / 1000), "ft2/usgal"),
        ),
    ),
    "slope": (
        "0.2 or 0.2 mm/m",
        (("µm/mm", 1, "um/mm"), ("mm/m", 1, ""), ("thou/in", 1, "mil/in")),
    ),
    "spring rate": (
        "24 N/mm",
        (
            ("N/mm", 1, ""),
            ("N/m", Fraction(1, 1000), ""),
            ("kN/m", 1, ""),
            ("kN/mm", 1000, "mn/m"),
            ("lbf/in", _LBF / _INCH, "lb/in|lbs/in"),
            ("kgf/mm", _GRAVITY, "kg/mm|kp/mm"),
        ),
    ),
    "turning stiffness": (
        "36 N m/deg",
        (
            ("N m/deg", 1, "nm/deg|nm/°"),
            ("N m/rad", PI / 180, "nm/rad"),
            ("in lb/deg", _LBF * _INCH / 1000, "inlbf/deg|lbin/deg|lbfin/deg|inlb/°"),
            ("ft lb/deg", _LBF * _INCH * 12 / 1000, "ftlbf/deg|lbft/deg|lbfft/deg|ftlb/°"),
        ),
    ),
    "speed": (
        "50 km/h or 30 mph",
        (
            ("km/h", 1, "kmh|kph"),
            ("m/s", Fraction("3.6"), ""),
            ("m/min", Fraction("0.06"), ""),
            ("mm/s", Fraction("0.0036"), ""),
            ("mm/min", Fraction("0.00006"), ""),
            ("in/min", _INCH * 60 / 10**6, "ipm"),
            ("mph", _INCH * 12 * 5280 / 10**6, "mile/h|miles/h"),
        ),
    ),
    "energy": (
        "250 kJ",
        (
            ("J", 1, "joule|joules"),
            ("kJ", 1000, ""),
            ("Btu", _BTU, ""),
        ),
    ),
    "power": (
        "30 kW or 40 hp",
        (
            ("W", 1, "watt|watts"),
            ("kW", 1000, ""),
            ("hp", _LBF * _INCH * 12 / 1000 * 550, "bhp"),
            ("PS", _GRAVITY * 75, "cv|metrichp"),
        ),
    ),
    "specific heat": (
        "460 J/kg/K",
        (
            ("J/kg/K", 1, "j/(kgk)|j/kgk|j/kg/c"),
            ("Btu/lb/degF", Fraction("4186.8"), "btu/lb/f|btu/(lbf)|btu/lbf"),
        ),
    ),
    "turning speed": ("450 rpm", (("rpm", 1, "r/min|rev/min|1/min"),)),
    "flow": (
        "12 l/min",
        (
            ("l/min", 1, "lpm"),
            ("ml/min", Fraction(1, 1000), ""),
            ("l/h", Fraction(1, 60), ""),
            ("m³/h", Fraction(1000, 60), "m3/h|m^3/h"),
            ("ft³/min", (_INCH * 12) ** 3 / 10**6, "ft3/min|cfm"),
            ("US gal/min", _US_GALLON / 1000, "usgpm"),
            ("imp gal/min", _IMP_GALLON / 1000, "impgpm"),
        ),
    ),
    "heating rate": (
        "5 K/min",
        (
            ("K/min", 1, "c/min|degc/min|°c/min"),
            ("K/h", Fraction(1, 60), "c/h|degc/h|°c/h"),
            ("K/s", 60, "c/s|degc/s"),
            ("delta degF/min", Fraction(5, 9), "f/min|degf/min|°f/min"),
            ("delta degF/h", Fraction(5, 9 * 60), "f/h|degf/h|°f/h"),
        ),
    ),
    "pressure rate": (
        "0.1 bar/min",
        (
            ("bar/min", 1, ""),
            ("mbar/min", Fraction(1, 1000), ""),
            ("kPa/min", Fraction(1, 100), ""),
            ("psi/min", _PSI / 10**5, ""),
        ),
    ),
    "electric current": (
        "2.5 A",
        (("A", 1, "amp|amps|ampere"), ("mA", Fraction(1, 1000), ""), ("kA", 1000, "")),
    ),
    "electric charge": (
        "12 Ah",
        (
            ("Ah", 1, "amphours|amperehours"),
            ("mAh", Fraction(1, 1000), ""),
            ("A s", Fraction(1, 3600), "coulomb"),
            ("A min", Fraction(1, 60), ""),
        ),
    ),
    "current density": (
        "3 A/dm²",
        (
            ("A/dm²", 1, "a/dm2|asd"),
            ("A/m²", Fraction(1, 100), "a/m2"),
            ("mA/cm²", Fraction(1, 10), "ma/cm2"),
            ("A/cm²", Fraction(100), "a/cm2"),
            ("A/ft²", Fraction(1, 100) / (_INCH * 12 / 1000) ** 2, "a/ft2|asf"),
        ),
    ),
    "conductivity": (
        "15 mS/cm",
        (("mS/cm", 1, ""), ("µS/cm", Fraction(1, 1000), "us/cm"), ("S/m", 10, "")),
    ),
    "voltage": ("67.5 V", (("V", 1, "volt|volts"),)),
    "resistance": ("4.7 ohm", (("ohm", 1, "Ω|ohms"), ("kohm", 1000, "kΩ"))),
    "HRA hardness": ("72", (("HRA", 1, "ra"),)),
    "HRC hardness": ("38", (("HRC", 1, "rc"),)),
    "HRB hardness": ("85", (("HRB", 1, "rb"),)),
    "HV hardness": ("320", (("HV", 1, "vickers"),)),
    "HB hardness": ("200", (("HB", 1, "hbw|brinell"),)),
    "acidity": ("6.5", (("pH", 1, ""),)),
}
_SHOWN: Final = {
    "degC": "°C", "degF": "°F", "delta degC": "°C", "delta degF": "°F", "N m": "N·m",
    "kN m": "kN·m", "N cm": "N·cm", "N mm": "N·mm", "kgf m": "kgf·m", "kgf cm": "kgf·cm",
    "deg": "°", "arcmin": "′", "N m/deg": "N·m/°", "N m/rad": "N·m/rad", "in lb/deg": "in lb/°",
    "ft lb/deg": "ft lb/°", "tenth": "tenths of a thou", "imp cwtf": "imp cwt",
    "US cwtf": "US cwt", "J/kg/K": "J/(kg·K)",
    "Btu/lb/degF": "Btu/(lb·°F)", "delta degF/min": "°F/min", "delta degF/h": "°F/h",
}  # fmt: skip
# 0 °F is 459.67 °F above absolute zero, 0 °C is 273.15 K above it.
_OFFSET: Final = {"degF": Fraction("459.67") * Fraction(5, 9) - Fraction("273.15")}


def _units() -> Iterator[Unit]:
    for kind, (_, rows) in TABLE.items():
        for name, factor, others in rows:
            spellings = tuple(other for other in others.split("|") if other)
            offset = _OFFSET.get(name, Fraction(0))
            yield Unit(name, kind, Fraction(factor), offset, spellings, _SHOWN.get(name, name))


UNITS: Final = tuple(_units())
