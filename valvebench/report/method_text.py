"""Standing words of the Method sheet: how results come about, with which risk, and what is dangerous."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from valvebench.model.words import Rule

STEPS: Final = (
    (
        "Resistance",
        (
            "An ohmmeter between two nodes of the connector or the casting. What the meter showed is freed of "
            "the leads by the state named with each reading, or referred to a known resistor read with the same "
            "leads: R = C (i - i0)/(ic - i0). With two voltages: R = C Vx/Vc. Repeated readings under like "
            "conditions all count, their mean is used."
        ),
    ),
    (
        "Coil temperature",
        (
            "A winding is carried to the reference temperature of its limits by R_ref = R (k + T_ref)/(k + T); k "
            "belongs to the conductor and is named below. Moving the limits to the coil temperature instead "
            "gives the same verdict. A temperature sensor is held against its own table or equation at the "
            "temperature of the reading."
        ),
    ),
    (
        "Uncertainty",
        (
            "Percent of reading and counts are one rectangle; leads, coil temperature, an unstated reference "
            "temperature and the spread of repeats are lines of their own. They are combined as independent "
            "(JCGM 100:2008, 5.1.2). A second reading of the same meter (tips, check resistor) shares its gain, "
            "so that only the counts remain twice."
        ),
    ),
    (
        "By air and by function",
        (
            "Ports are judged by ear against the reaction that the variant states for the selector position and "
            "the solenoid states; without its cover plate a body lets air out at most ports, so that only what held "
            "or moved counts. Switches are judged by their state at rest and, apart from that, under air, their "
            "closed contact with an assumed meter and the leads left in. Everything tried on one solenoid counts "
            "together: clicks heard of those tried, and air held or passed without and with current."
        ),
    ),
    (
        "Verdict of the session",
        (
            "Fail before Not finished before Can't tell before Pass before No limit, always with its scope. At "
            "one temperature the better reading settles an item; over all temperatures the worst counts."
        ),
    ),
)
HEAT: Final = (
    (
        "Against copper",
        (
            "Resistance over temperature is held against copper, R = R20 (k + T)/(k + 20) (IEC 60034-1, 8.6.2, in its "
            "form for 20 \u00b0C). A slope below copper's is a resistance in series that stays put, of the size the "
            "straight line leaves at T = -k. A slope above it is something that grows with heat: told by its size at "
            "the hottest and, where one shows, the temperature at which it starts, never as a negative resistance."
        ),
    ),
    (
        "Lag",
        (
            "Readings taken in rounds count as settled: the coil has the temperature of the probe. In a logger's run "
            "the coil follows the probe with one time constant, found together with everything else; so is the "
            "coil's temperature at the first sample, unless the run is marked as soaked. On a ramp at one rate lag and "
            "series resistance look alike: cannot be separated."
        ),
    ),
    (
        "Uncertainty of a heat run",
        (
            "Scatter about the fit with all that was fitted (JCGM 100:2008, H.3), widened where neighbouring samples "
            "resemble one another; gain and counts of the meter and the offset of the probe are common to all "
            "samples and are added after it (5.2). U = 2 u."
        ),
    ),
    (
        "Openings and steps",
        (
            "An opening is a run of samples without a value, or far over the middle of all; a step is a jump that "
            "noise alone makes once in thousands of runs. The temperature of the coil beside it is worked out with "
            "the lag. How many samples and which sizes count: common practice, no source."
        ),
    ),
    (
        "Verdict of a heat run",
        (
            "Fail for an opening, and for a series or growing part larger than its U, whatever the limits. Otherwise "
            "what all of it would read at the reference temperature is held against the limits; what cannot be "
            "separated is at best Can't tell. It is an item of its own: no cold reading settles it."
        ),
    ),
    (
        "To follow it",
        (
            "Runs in rounds are redone by formulas on sheet Heat workings. A logger's file lies in the folder blobs "
            "of the session under its SHA-256: valvebench heat FILE --meter .. --variant .. works it out again. "
            "Charts show at most 300 samples of a run and say how many were passed over."
        ),
    ),
)
COVERAGE: Final = (
    "Expanded uncertainties U = k u have a two-sided coverage of 95.45 %. k = 2.000, or Student's t with the "
    "effective degrees of freedom (Welch-Satterthwaite, cut to a whole number) up to 1000; where one "
    "rectangle is more than 3.33 times all other lines together, k = 0.9545 x sqrt(3) = 1.653. There, with "
    "the rectangle 3.33 to 10 times the rest, the true coverage is 92.9 to 95.1 %. The factor is named with "
    "each reading."
)
RULES: Final = MappingProxyType(
    {
        Rule.PROVED: (
            "Pass where the whole interval value \u00b1 U lies inside the limits, Fail where it lies outside, "
            "Can't tell between (ILAC-G8:09/2019, 4.2; JCGM 106:2012, 8.3; guard width w = U). Risk of a "
            "wrong Pass or a wrong Fail for a value on the edge of its zone: nominally 2.3 % in each tail for "
            "a normal distribution; up to 3.6 % where one rectangle dominates. No knowledge of how such parts "
            "usually are is used (flat prior)."
        ),
        Rule.PROVED5: (
            "Pass where the value lies inside the limits by more than w, Fail where it lies outside by more "
            "than w, Can't tell between; w is the two-sided 90 % factor times u (ISO 14253-1:2017). Risk of a "
            "wrong Pass or a wrong Fail for a value on the edge of its zone: nominally 5 % in each tail. No "
            "knowledge of how such parts usually are is used (flat prior)."
        ),
        Rule.PLAIN: (
            "Pass where the value lies inside the limits, Fail otherwise; the uncertainty is not counted "
            "(simple acceptance, ILAC-G8:09/2019, 4.2.1). Risk of a wrong Pass or a wrong Fail: up to 50 % "
            "for a value on a limit."
        ),
    }
)
ON_A_LIMIT: Final = "A value exactly on a limit is inside. An open display proves only: above the range that was set."
STATEMENTS: Final = (
    "The results relate only to the item tested, as it was received, at the conditions stated.",
    "This report is not to be reproduced except in full.",
    "The workshop answers for everything in this report except what is marked as told by the customer.",
    "No accreditation is claimed.",
    (
        "A changed report carries a new number; the entries of the journal, corrected ones included, stay as they "
        "were written."
    ),
)
CHECKING: Final = (
    "Each line of the journal carries the SHA-256 of the line before it. Whoever was given the head (line "
    "count and hash) can find any later change: valvebench verify SESSION --head N:HEX. Without the head a "
    "change to the last line, or a journal written anew as a whole, cannot be seen."
)
CAUTIONS: Final = (
    (
        "Air",
        (
            "Regulated and dry air, never oxygen, at or under the pressure stated for the variant (none stated: "
            "none is proposed). Eye protection; never toward skin. Hoses and vessels rated for the pressure, "
            "never a bottle or glass. Vent before opening. Hands and face clear of open bores, a rag over the "
            "exit: air throws balls, plugs, springs and pistons. Never into electronics."
        ),
    ),
    (
        "Heat",
        (
            "Parts above 60 \u00b0C burn. Dry of solvent before any heat. An oil bath well below its flash "
            "point, free of water, never left alone. Stay under the lowest rating on the part. Vapour from "
            "cleaner on hot metal is poisonous."
        ),
    ),
    (
        "Electricity",
        (
            "De-energise and unplug the control unit before any ohmmeter reaches its harness. Feed a linear or "
            "pulsed solenoid only from a current-limited supply, any solenoid shortly, dry of solvent, with the "
            "stated polarity (a suppression diode shorts a reversed supply). Electronics on board: static care, "
            "do not probe unless the maker says so."
        ),
    ),
    (
        "Vehicle",
        (
            "Level on rated supports, chocked, brake on; battery isolated before anything is unplugged. Where "
            "the engine must run: nobody near wheels, shafts or belts, exhaust gas led out. Fluid and exhaust "
            "burn."
        ),
    ),
    (
        "Always",
        "The maker's procedure, local regulations and licensed practice come first. A bench pass is not a road test.",
    ),
)
