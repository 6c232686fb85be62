//! The table itself: every input of a job, in the order of the job file.

use super::Unit::*;
use super::{Input, Kind, choice, flag, number, text};
use crate::job::spectra::{BY_ANGLE, GROUND, SPECTRUM};

const fn form(path: &'static str, name: &'static str, takes: &'static str, hint: &'static str) -> Input {
    Input { path, name, kind: Kind::Form(takes), hint }
}

/// Aspecular angles, as `colour::ANGLES`.
const ASPECULAR: &[(&str, &str)] = &[
    ("-15", "\u{2212}15\u{b0}"),
    ("15", "15\u{b0}"),
    ("25", "25\u{b0}"),
    ("45", "45\u{b0}"),
    ("75", "75\u{b0}"),
    ("110", "110\u{b0}"),
];
const LIGHTS: &[(&str, &str)] = &[("\"D65\"", "Daylight D65"), ("\"A\"", "Lamp A"), ("\"LED-B3\"", "Shop LED B3")];
const OBSERVERS: &[(&str, &str)] = &[("10", "10\u{b0} (CIE 1964)"), ("2", "2\u{b0} (CIE 1931)")];

/// Every input, in the order of the job file.
pub static INPUTS: &[Input] = &[
    text("title", "Job", "Untitled job", "What the job is called, on the screen and in its files."),
    // panel
    number("panel.length_mm", "Length", Millimetre, [100., 4000., 10., 1400.], "Panel, left to right."),
    number("panel.width_mm", "Width", Millimetre, [100., 3000., 10., 1100.], "Panel, near edge to far edge."),
    number(
        "panel.crown_along_mm",
        "Crown along",
        Millimetre,
        [-300., 300., 5., 0.],
        "How much the middle stands above the two ends.",
    ),
    number(
        "panel.crown_across_mm",
        "Crown across",
        Millimetre,
        [-300., 300., 5., 0.],
        "How much the middle stands above the near and far edges.",
    ),
    number(
        "panel.rim_radius_mm",
        "Rim radius",
        Millimetre,
        [0., 100., 1., 0.],
        "Along every edge the panel rolls down with this radius; 0 leaves the edges sharp. The gun does not follow it.",
    ),
    number(
        "panel.rim_deg",
        "Rim rolls by",
        Degree,
        [10., 75., 5., 60.],
        "How far the rolled rim has turned down where it ends; of no meaning without a rim radius.",
    ),
    number(
        "panel.slope_deg",
        "Slope",
        Degree,
        [0., 90., 5., 0.],
        "0 lies flat like a bonnet, 90 stands like a door. Film as laid does not depend on it.",
    ),
    number("panel.cell_mm", "Cell", Millimetre, [1., 20., 1., 4.], "Size of the squares the film is computed in."),
    number(
        "panel.edge_band_mm",
        "Edge band",
        Millimetre,
        [1., 500., 5., 25.],
        "Width of the strip along the rim that is read by itself.",
    ),
    // gun
    number(
        "gun.fan_width_mm",
        "Fan width",
        Millimetre,
        [50., 600., 5., 250.],
        "Long side of the spray's footprint at the distance where the gun was measured.",
    )
    .marked((200., 300.), &[150., 200., 250., 300., 350.]), // common practice, no source
    number(
        "gun.fan_depth_mm",
        "Fan depth",
        Millimetre,
        [10., 200., 5., 60.],
        "Short side of the footprint, in the direction of travel.",
    ),
    number(
        "gun.at_distance_mm",
        "Measured at",
        Millimetre,
        [50., 500., 5., 180.],
        "Gun distance at which fan width and depth were measured; the angles of the fan stay fixed.",
    ),
    number(
        "gun.pass_exponent",
        "Pass exponent",
        Plain,
        [0.5, 8., 0.1, 2.4],
        "Shape across the fan: one pass lays (1 \u{2212} u\u{b2}) to this power. At 2.4 an overlap of 50 % is best.",
    ),
    number(
        "gun.depth_exponent",
        "Depth exponent",
        Plain,
        [0., 8., 0.1, 1.5],
        "Shape in the direction of travel; 0 is even.",
    ),
    number(
        "gun.heavy_end",
        "Heavy end",
        Percent,
        [-1., 1., 0.05, 0.],
        "An air cap fault: the far end of the fan (above 0) or the near end (below 0) carries more paint.",
    ),
    number(
        "gun.split",
        "Split fan",
        Percent,
        [0., 1., 0.05, 0.],
        "An air cap fault: paint missing in the middle of the fan and heaped at both ends.",
    ),
    number(
        "gun.fluid_ml_per_min",
        "Fluid",
        MillilitrePerMinute,
        [10., 1000., 5., 200.],
        "Paint delivered while the trigger is open.",
    )
    // from memory: gravity guns in refinish; the upper mark is a printed pressure-feed figure of 10 oz/min (P. Crumpler)
    .marked((120., 300.), &[]),
    number(
        "gun.transfer_efficiency",
        "Transfer",
        Percent,
        [0.05, 0.95, 0.01, 0.65],
        "Share of the paint that reaches the panel at the measured distance; the rest is lost in the air.",
    )
    // B. L. Gatano, thesis abstract: 0.66 to 0.87 onto flat plate, HVLP; 0.65 is an approval threshold
    .marked((0.65, 0.87), &[]),
    number(
        "gun.transfer_falls_over_mm",
        "Transfer falls over",
        Millimetre,
        [100., 10000., 50., 800.],
        "The transfer falls by 1/e over this extra distance: an assumption.",
    )
    .or_none("the transfer does not fall with distance"),
    // paints
    text("paints[].name", "Paint", "tinted", "Name by which the coats call it."),
    choice(
        "paints[].role",
        "Role",
        &[("\"tinted_clear\"", "tinted clear"), ("\"clear\"", "untinted clear"), ("\"base\"", "base")],
        "A tinted clear carries the colour; an untinted clear does not change it; a base lies under both.",
    ),
    number(
        "paints[].solids_by_volume",
        "Solids",
        Percent,
        [0.05, 1., 0.01, 0.42],
        "Share of the wet paint that stays as dry film.",
    ),
    form(
        "paints[].absorption_per_um",
        "Absorption",
        SPECTRUM,
        "How strongly the film takes each band of light, per \u{b5}m.",
    ),
    number(
        "paints[].scatter_per_um",
        "Scatter",
        Plain,
        [0., 0.02, 0.0001, 0.],
        "How much of the light a tinted clear sends back by itself, per \u{b5}m; a transparent one sends none.",
    ),
    choice(
        "paints[].kind",
        "Base",
        &[("\"effect\"", "effect base"), ("\"solid\"", "solid base")],
        "Whether a base carries flakes; of no meaning for a clear.",
    ),
    form(
        "paints[].reflectance",
        "Reflectance",
        BY_ANGLE,
        "Look of a base where it hides, as measured under untinted clear.",
    ),
    number(
        "paints[].hides_at_um",
        "Hides at",
        Micrometre,
        [2., 200., 1., 20.],
        "Dry film from which on a base hides black and white; of no meaning for a clear.",
    ),
    number(
        "paints[].sag_limit_um_wet",
        "Sag limit, wet",
        Micrometre,
        [10., 1000., 5., 120.],
        "Most wet film that holds on a standing panel; more of it runs. On a slope it holds 1/sine times as much.",
    ),
    number(
        "paints[].open_time_min",
        "Open time",
        Minute,
        [0.5, 240., 0.5, 12.],
        "How long the film stays open: paint that comes later does not melt into it, and the wet edge is lost.",
    ),
    number(
        "paints[].solvent_leaves_over_min",
        "Solvent leaves over",
        Minute,
        [0.1, 240., 0.1, 4.],
        "The solvent in the film falls to 1/e over this time: an assumption.",
    ),
    number(
        "paints[].viscosity_pa_s",
        "Viscosity, landed",
        PascalSecond,
        [0.02, 50., 0.05, 1.],
        "Viscosity on the panel just after landing: an assumption.",
    )
    // from memory: clears, 0.3 to 3 Pa s
    .marked((0.3, 3.), &[0.02, 1., 2., 3., 5.]),
    number(
        "paints[].thickens_over_min",
        "Thickens over",
        Minute,
        [0.1, 60., 0.1, 1.],
        "The viscosity rises e-fold over this time: an assumption.",
    ),
    number(
        "paints[].parts_paint",
        "Parts of paint",
        Plain,
        [0.1, 100., 0.1, 1.],
        "Mixing ratio by volume as the product\u{2019}s data sheet gives it: the paint itself.",
    ),
    number(
        "paints[].parts_hardener",
        "Parts of hardener",
        Plain,
        [0., 100., 0.1, 0.],
        "Mixing ratio by volume: the hardener. 0 where there is none, or what is sprayed comes mixed.",
    ),
    number(
        "paints[].parts_thinner",
        "Parts of thinner",
        Plain,
        [0., 100., 0.1, 0.],
        "Mixing ratio by volume: the thinner.",
    ),
    number(
        "paints[].reserve",
        "Reserve",
        Percent,
        [0., 1., 0.05, 0.15],
        "Mixed beyond what is sprayed: what stays in cup and gun, and a pass that must be done again. Common practice, no source.",
    ),
    form("ground", "Ground", GROUND, "What the first paint lies on, as measured under untinted clear."),
    // target
    number(
        "target.film_um",
        "Target film",
        Micrometre,
        [1., 300., 0.5, 35.],
        "Dry film of the tinted clear at which the colour is right.",
    ),
    // viewing
    choice("viewing.illuminant", "Light", LIGHTS, "The light under which colour is computed and shown."),
    choice("viewing.observer_deg", "Observer", OBSERVERS, "Field of view for which colour differences are computed."),
    choice(
        "viewing.aspecular_deg",
        "Seen at",
        ASPECULAR,
        "Angle between the eye and the mirror direction of the light: small near the highlight, large in the flop.",
    )
    .by_default(3),
    number(
        "viewing.distance_m",
        "Viewing distance",
        Metre,
        [0.3, 10., 0.1, 1.],
        "How far the eye stands from the panel. From afar wide stripes show best, from near by narrow ones.",
    ),
    choice(
        "viewing.eye",
        "Eye",
        &[("\"trained\"", "trained eye, good lamp"), ("\"anyone\"", "anyone")],
        "A trained eye under a good lamp takes 2 times the threshold of a laboratory until it sees, anyone 4 times. These \
         two are our judgement; the threshold itself is published (castleCSF, 2024).",
    ),
    number(
        "viewing.surround_gloss",
        "Gloss of the surroundings",
        Percent,
        [0., 1., 0.05, 0.],
        "How bright a room the gloss mirrors: 0 leaves the gloss out, as an instrument does; 100 % is a white room in the \
         same light. It veils the colour and hides stripes, most of all in the flop.",
    ),
    // coats
    text("coats[].paint", "Paint", "tinted", "Which paint this coat is."),
    number(
        "coats[].amount",
        "Amount",
        Percent,
        [0.1, 3., 0.05, 1.],
        "Share of a full coat. A half coat is a thin coat, laid by going twice as fast.",
    ),
    number(
        "coats[].distance_mm",
        "Gun distance",
        Millimetre,
        [50., 600., 5., 180.],
        "From the nozzle to the panel. Nearer makes the fan narrower and wetter, farther makes it wider and drier.",
    )
    // 6 to 10 in: TM 1-1500-344-23-2 (2009), p. A-11
    .marked((152.4, 254.), &[100., 150., 200., 250., 300.]),
    number(
        "coats[].overlap",
        "Overlap",
        Percent,
        [0., 0.9, 0.01, 0.75],
        "How much of one pass the next covers again. 50 % means the gun aims at the edge of the last pass.",
    )
    // 50 % standard, 50 to 75 % held: Auto Collision Repair and Refinishing (2022), pp. 688, 691
    .marked((0.5, 0.75), &[0., 0.25, 0.5, 0.75, 0.9]),
    number(
        "coats[].speed_mm_per_s",
        "Travel speed",
        MillimetrePerSecond,
        [50., 2000., 10., 500.],
        "How fast the gun goes in a full coat. Half the speed lays twice the film.",
    )
    // printed: about 1 ft/s (305) and 1.5 ft/s (457), Auto Collision Repair and Refinishing (2022), p. 687; the
    // upper end is common practice, no source
    .marked((300., 600.), &[200., 400., 600., 800., 1000.]),
    choice(
        "coats[].along",
        "Passes run",
        &[("\"length\"", "along the length"), ("\"width\"", "along the width")],
        "Direction of the passes.",
    ),
    choice(
        "coats[].reach",
        "Sprayed from",
        &[("\"one_side\"", "one side"), ("\"both_sides\"", "both sides")],
        "A panel too wide to reach across is sprayed from both sides, each half from its own.",
    ),
    choice(
        "coats[].order",
        "Order of the lines",
        &[("\"edges_inwards\"", "edges inwards"), ("\"straight_across\"", "straight across")],
        "Edges inwards: from one side the far edge first, towards you; from both sides each half from its own edge. \
         Straight across: from the near edge to the far one, so that the middle is still wet when the second half begins.",
    ),
    number(
        "coats[].reach_overlap_mm",
        "Reaches overlap by",
        Millimetre,
        [-300., 600., 5., 0.],
        "How far the two reaches cover the same middle; below 0 they leave a gap.",
    ),
    number(
        "coats[].margin_mm",
        "Margin",
        Millimetre,
        [0., 500., 5., 125.],
        "The outermost lines lie at least this far outside the panel; 0 puts the first on its edge.",
    ),
    number(
        "coats[].lead_mm",
        "Lead",
        Millimetre,
        [0., 500., 5., 150.],
        "How far before the edge the trigger opens, and how far after it closes.",
    ),
    number(
        "coats[].shift",
        "Shift",
        Percent,
        [-1., 1., 0.05, 0.],
        "Moves all lines of the coat by this share of their spacing: 50 % puts them between those of the last coat.",
    ),
    flag("coats[].edge_pass", "Edge pass first", "One pass around the rim, on the edge line, before the lines."),
    number("coats[].flash_min", "Flash-off", Minute, [0., 120., 1., 10.], "Waiting time after the coat."),
    Input {
        path: "coats[].track",
        name: "Track",
        kind: Kind::Form("{ \"samples\": [[t s, x mm, y mm, distance mm, heel deg, lean deg, trigger 0 or 1], ...] }"),
        hint: "How a hand sprayed the coat; then its lines are only what was meant.",
    },
    // hand
    number(
        "hand.distance_error_mm",
        "Distance error",
        Millimetre,
        [-100., 300., 5., 0.],
        "The hand holds the gun this much farther than planned; the lines stay where they were.",
    ),
    number(
        "hand.speed_error",
        "Speed error",
        Percent,
        [-0.5, 1., 0.01, 0.],
        "How much faster than planned (below 0: slower).",
    ),
    number(
        "hand.arc_deg",
        "Wrist arc",
        Degree,
        [0., 60., 1., 0.],
        "Angle of the wrist at the ends of a pass: the gun swings instead of travelling square.",
    ),
    number(
        "hand.arc_pivot_mm",
        "Arc about",
        Millimetre,
        [0., 1000., 10., 250.],
        "How far behind the nozzle the swing turns: about 250 mm from the wrist, 550 mm from the elbow.",
    ),
    number(
        "hand.heel_deg",
        "Heel",
        Degree,
        [-45., 45., 1., 0.],
        "The gun is turned about the line of travel: above 0 the far end of the fan is further from the panel.",
    ),
    number(
        "hand.drag_deg",
        "Drag",
        Degree,
        [-45., 45., 1., 0.],
        "The gun is turned in the direction of travel: above 0 the spray trails behind the nozzle.",
    ),
    number(
        "hand.trigger_late_mm",
        "Trigger late by",
        Millimetre,
        [-200., 200., 5., 0.],
        "The trigger opens and closes this much later along the travel (below 0: earlier).",
    ),
    number(
        "hand.slow_at_ends",
        "Slows at the ends",
        Percent,
        [0., 0.9, 0.05, 0.],
        "Speed lost at the very end of a pass, beginning 150 mm before it.",
    ),
    // The four drifts: no figures for painters were found. What the words call usual for a novice is our judgement, a
    // skilled hand a third of it; the marks run from the one to the other.
    number(
        "hand.distance_sd_mm",
        "Distance drift",
        Millimetre,
        [0., 60., 1., 0.],
        "How much the distance strays at random (standard deviation). Novices perhaps 15 to 30 mm, a skilled hand a \
         third: an assumption.",
    )
    .marked((5., 30.), &[]),
    number(
        "hand.speed_sd",
        "Speed drift",
        Percent,
        [0., 0.4, 0.01, 0.],
        "How much the speed strays at random (standard deviation). Novices perhaps 10 to 20 %, a skilled hand a third: \
         an assumption.",
    )
    .marked((0.03, 0.2), &[]),
    number(
        "hand.line_sd_mm",
        "Line drift",
        Millimetre,
        [0., 60., 1., 0.],
        "How far the gun strays off its line at random, to either side (standard deviation). What is usual is not known.",
    ),
    number(
        "hand.angle_sd_deg",
        "Angle drift",
        Degree,
        [0., 20., 1., 0.],
        "How much heel and drag stray at random (standard deviation). Novices perhaps 5 to 10\u{b0}, a skilled hand a \
         third: an assumption.",
    )
    .marked((2., 10.), &[]),
    number(
        "hand.walk_round_s",
        "Walks round in",
        Second,
        [0., 120., 1., 8.],
        "Time to go round a lying panel that is sprayed from both sides; the trigger is closed that long between the two \
         halves. 8 s is an assumption.",
    ),
    number(
        "hand.seed",
        "Seed",
        Plain,
        [0., 4_294_967_295., 1., 1.],
        "Which random hand it is: the same seed strays the same way, another seed another way.",
    ),
    // spray-outs
    form(
        "cards.ladder",
        "Ladder",
        "1 to 8 numbers of coats by halves, default [1, 1.5, 2, 2.5]",
        "Coats on each card.",
    ),
    number("cards.chosen", "Chosen card", Plain, [0.5, 8., 0.5, 0.5], "Coats of the chosen card.").missing(),
    choice(
        "cards.sticker",
        "Sticker",
        &[
            ("\"black_grey_white\"", "black, grey and white"),
            ("\"black_grey\"", "black and grey"),
            ("\"black_white\"", "black and white"),
        ],
        "Fields of the hiding sticker, put on after the base and before the tinted clear.",
    ),
    form(
        "car",
        "The car",
        "null, or an object with lab or reflectance",
        "The car's colour, measured beside the damage.",
    ),
    form(
        "car.lab",
        "Colour",
        "L*, a*, b* by aspecular angle: { \"45\": [42, 45, 30] }",
        "The car's colour as typed from an instrument.",
    ),
    form("car.reflectance", "Reflectance", BY_ANGLE, "The car's colour as spectra: valid under every light."),
    choice("car.illuminant", "Measured under", LIGHTS, "The light for which the car's L*, a*, b* hold."),
    choice("car.observer_deg", "Observer", OBSERVERS, "The observer for which they hold."),
    form(
        "measured",
        "Measured cards",
        "null, or an object",
        "What was measured on one's own cards, at one angle or several.",
    ),
    choice("measured.illuminant", "Measured under", LIGHTS, "The light for which L*, a*, b* of the cards hold."),
    choice("measured.observer_deg", "Observer", OBSERVERS, "The observer for which they hold."),
    flag("measured.unequal", "Unequal coats", "The coats may have been unequal: their shares are fitted too."),
    form("measured.cards", "Cards", "a list", "The measured cards."),
    number(
        "measured.cards[].coats",
        "Coats",
        Plain,
        [0., 8., 0.5, 0.],
        "Coats of tinted clear on the card; 0 is the bare base.",
    ),
    choice(
        "measured.cards[].aspecular_deg",
        "Measured at",
        ASPECULAR,
        "Angle from the mirror direction, light at 45\u{b0}.",
    )
    .by_default(3),
    form("measured.cards[].lab", "Colour", "[L*, a*, b*]", "Its colour."),
    form("measured.cards[].reflectance", "Reflectance", SPECTRUM, "Its spectrum."),
    number("measured.cards[].film_um", "Gauge", Micrometre, [0.1, 500., 0.1, 0.1], "Film of tinted clear by a gauge.")
        .missing(),
    form("test_card", "Test card", "null, or an object", "Film measured across one straight pass of the gun."),
    number("test_card.distance_mm", "Gun distance", Millimetre, [50., 600., 5., 180.], "Gun to card."),
    number(
        "test_card.speed_mm_per_s",
        "Travel speed",
        MillimetrePerSecond,
        [50., 2000., 10., 500.],
        "Speed of the pass.",
    ),
    number(
        "test_card.solids_by_volume",
        "Solids",
        Percent,
        [0.05, 1., 0.01, 0.42],
        "Share of the wet paint of the pass that stays as dry film.",
    ),
    number(
        "test_card.fluid_ml_per_min",
        "Fluid, measured",
        MillilitrePerMinute,
        [10., 1000., 5., 10.],
        "Paint delivered, if it was measured; the film alone tells only fluid times transfer.",
    )
    .missing(),
    form(
        "test_card.readings",
        "Readings",
        "a list of [place in mm, dry film in um]",
        "Films across the pass; places count from anywhere, towards the fan's far end.",
    ),
];
