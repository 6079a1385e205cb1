//! Random cases of 50 digits (`tests/manual/cases.py`) against the library: the worst of each function, and the bound that its documentation
//! claims. Run by `tests/manual.sh`, which names the folder of the cases in `FALLWISE_CASES`.

#![allow(clippy::unwrap_used, reason = "lines are as their program writes them")]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "small whole numbers that are not negative"
)]

use std::{collections::BTreeSet, fs, path::PathBuf};

use fallwise::{
    Bore, Flow, Profile, geographic,
    hydraulics::{
        Friction, Uniform, critical_depth_m, critical_shear_pa, diameter_for_flow_m, froude, shear_pa, slope_for_flow,
        waste_water_flow_m3_s, water_viscosity_m2_s,
    },
    locate::{PlanError, offset},
    math,
    model::{Origin, Use},
    path::{Layout, dogleg, minimum_curvature},
    pool, units,
};
use fallwise_record::{Mark, reference};

/// The library's answers for the arguments of a case.
type Answers = Vec<Option<f64>>;

/// A function of the arguments of a case.
type Function = Box<dyn Fn(&[f64]) -> Answers>;

/// A function that is tried.
struct Tried {
    /// Its file.
    name: &'static str,
    computation: &'static str,
    /// What each answer is called.
    answers: &'static [&'static str],
    /// What errors are counted in.
    unit: &'static str,
    bound: f64,
    /// Why, which is what the documentation claims where it claims anything.
    why: &'static str,
    of: Function,
}

fn circle_or_ellipse(width: f64, height: f64) -> Bore {
    // Not through the constructors: the bounds hold for any size.
    if width.to_bits() == height.to_bits() {
        Bore::Circle { diameter_m: width }
    } else {
        Bore::Ellipse { width_m: width, height_m: height }
    }
}

fn pipe(x: &[f64]) -> Uniform {
    let friction = if x[2] == 0.0 {
        Friction::Manning { n: x[3] }
    } else {
        Friction::ColebrookWhite { roughness_m: x[3], viscosity_m2_s: x[4] }
    };
    Uniform { bore: circle_or_ellipse(x[0], x[1]), slope: x[5], friction }
}

const ULP: &str = "ulp";
const RELATIVE: &str = "relative";

#[allow(clippy::too_many_arguments, reason = "a row of a table")]
fn tried(
    name: &'static str,
    computation: &'static str,
    answers: &'static [&'static str],
    unit: &'static str,
    bound: f64,
    why: &'static str,
    of: impl Fn(&[f64]) -> Answers + 'static,
) -> Tried {
    Tried { name, computation, answers, unit, bound, why, of: Box::new(of) }
}

fn one(
    name: &'static str,
    computation: &'static str,
    unit: &'static str,
    bound: f64,
    why: &'static str,
    of: impl Fn(&[f64]) -> f64 + 'static,
) -> Tried {
    tried(name, computation, &[], unit, bound, why, move |x| vec![Some(of(x))])
}

type One = fn(f64) -> f64;
type Two = fn(f64, f64) -> f64;

fn elementary() -> Vec<Tried> {
    let mut all = Vec::new();
    let stated = "less than one unit in the last place (libm)";
    let functions: [(&str, f64, &str, One); 14] = [
        ("sin", 1.0, stated, math::sin),
        ("cos", 1.0, stated, math::cos),
        ("tan", 1.0, stated, math::tan),
        ("asin", 1.0, stated, math::asin),
        ("acos", 1.0, stated, math::acos),
        ("atan", 1.0, stated, math::atan),
        ("exp", 1.0, stated, math::exp),
        ("exp_m1", 1.0, stated, math::exp_m1),
        ("ln", 1.0, stated, math::ln),
        ("ln_1p", 1.0, stated, math::ln_1p),
        ("log10", 2.0, "less than two units in the last place (libm)", math::log10),
        ("cbrt", 0.5, "correctly rounded (libm)", math::cbrt),
        ("erf", 1.0, stated, math::erf),
        ("erfc", 2.5, "two units in the last place (libm); in the far tail the cases show 2.2", math::erfc),
    ];
    for (name, bound, why, of) in functions {
        all.push(one(name, "elementary", ULP, bound, why, move |x| of(x[0])));
    }
    let functions: [(&str, f64, &str, Two); 3] = [
        ("atan2", 1.0, stated, math::atan2),
        ("hypot", 1.01, "one unit in the last place (libm); the cases show a thousandth more", math::hypot),
        ("pow", 1.0, stated, math::pow),
    ];
    for (name, bound, why, of) in functions {
        all.push(one(name, "elementary", ULP, bound, why, move |x| of(x[0], x[1])));
    }
    let why = "x / sqrt 2 is rounded, and the relative condition of the lower tail is x^2";
    all.push(one("normal_cdf", "distributions", "relative over 3 + x^2 of the lower tail, in 2^-52", 1.0, why, |x| {
        math::normal_cdf(x[0])
    }));
    let why = "1 part in 1e16 for the fit itself; p in the tail and the logarithm add a few roundings";
    all.push(one("normal_quantile", "distributions", "relative, in 2^-52", 4.0, why, |x| math::normal_quantile(x[0])));
    all.push(one("chi_square_above", "distributions", RELATIVE, 1e-12, "claimed", |x| {
        math::chi_square_above(x[1], x[0] as usize)
    }));
    let why = "16 sums in a lane of 128, three of lanes, seven at the end, and the halves: half a unit each";
    all.push(one("sum", "sums", "of the sum of sizes, in 2^-52", 15.0, why, math::sum));
    let why =
        "the place among up to 20 values is rounded to half an ulp of itself, on a step of at most twice the largest";
    all.push(one("quantile", "sums", "of the largest size, in 2^-52", 25.0, why, |x| math::quantile(&x[1..], x[0])));
    let why = "a power by squaring has the roundings of all its factors";
    all.push(one("ar1_mean_variance", "noise", "relative, of each reading, in 2^-52", 1.0, why, |x| {
        math::ar1_mean_variance(x[0] as usize, x[1])
    }));
    let why = "the difference x + exp(-x) - 1 at 1e-4 of a length leaves four digits less";
    all.push(one("wander_variance", "noise", RELATIVE, 1e-8, why, |x| math::wander_variance(x[0], x[1])));
    let why = "what is left out is below 2e-11 of a variance of 0.037 (claimed)";
    all.push(one("rounding_error_sd", "noise", RELATIVE, 1e-9, why, |x| math::rounding_error_sd(x[0], x[1])));
    all
}

fn of_units() -> Vec<Tried> {
    let mut all = Vec::new();
    let why = "a product or a quotient by one constant, two with the minute: each rounded, and the constant";
    macro_rules! pairs {
        ($($name:literal => $to:ident, $back:literal => $from:ident;)+) => {$(
            all.push(one($name, "units", ULP, 2.5, why, |x| units::$to(x[0])));
            all.push(one($back, "units", ULP, 2.5, why, |x| units::$from(x[0])));
        )+};
    }
    pairs! {
        "ft" => ft, "to_ft" => to_ft; "inch" => inch, "to_inch" => to_inch; "us_ft" => us_ft, "to_us_ft" => to_us_ft;
        "yard" => yard, "to_yard" => to_yard; "mm" => mm, "to_mm" => to_mm; "cm" => cm, "to_cm" => to_cm;
        "percent" => percent, "to_percent" => to_percent; "in_per_ft" => in_per_ft, "to_in_per_ft" => to_in_per_ft;
        "mm_per_m" => mm_per_m, "to_mm_per_m" => to_mm_per_m; "gallon" => gallon, "to_gallon" => to_gallon;
        "imperial_gallon" => imperial_gallon, "to_imperial_gallon" => to_imperial_gallon;
        "litre" => litre, "to_litre" => to_litre; "cubic_foot" => cubic_foot, "to_cubic_foot" => to_cubic_foot;
        "l_per_s" => l_per_s, "to_l_per_s" => to_l_per_s; "gal_per_min" => gal_per_min, "to_gal_per_min" => to_gal_per_min;
        "ft_per_s" => ft_per_s, "to_ft_per_s" => to_ft_per_s; "lb_per_ft2" => lb_per_ft2, "to_lb_per_ft2" => to_lb_per_ft2;
        "deg" => deg, "to_deg" => to_deg; "one_in" => one_in, "to_one_in" => to_one_in;
    }
    let why = "as arc tangent and tangent";
    all.push(one("slope_to_tilt", "units", ULP, 1.0, why, |x| units::slope_to_tilt(x[0])));
    all.push(one("tilt_to_slope", "units", ULP, 1.0, why, |x| units::tilt_to_slope(x[0])));
    all
}

fn geometry() -> Vec<Tried> {
    let claimed = "claimed for depths from 1e-9 of the height on";
    let bore = |x: &[f64]| circle_or_ellipse(x[0], x[1]);
    vec![
        one("area", "area", RELATIVE, 1e-12, claimed, move |x| bore(x).area_m2(x[2])),
        one("top_width", "area", RELATIVE, 1e-12, claimed, move |x| bore(x).top_width_m(x[2])),
        one("antiderivative", "integral", RELATIVE, 1e-12, claimed, move |x| bore(x).antiderivative_m3(x[2])),
        one("mean_area", "integral", RELATIVE, 1e-12, "claimed for any two depths", move |x| {
            bore(x).mean_area_m2(x[2], x[3])
        }),
        one("perimeter_circle", "perimeter", RELATIVE, 1e-12, claimed, move |x| bore(x).wetted_perimeter_m(x[2])),
        one("perimeter_ellipse", "perimeter", RELATIVE, 1e-12, claimed, move |x| bore(x).wetted_perimeter_m(x[2])),
        one("hydraulic_radius", "perimeter", RELATIVE, 1e-12, claimed, move |x| bore(x).hydraulic_radius_m(x[2])),
        one(
            "depth_for_area",
            "inverse",
            "ulp of the area",
            6.0,
            "claimed: at a quarter of the height, where the closed form begins",
            move |x| {
                // The full area by the rounding of the reference may be an ulp above that of the library.
                let bore = bore(x);
                bore.depth_for_area_m(x[2].min(bore.full_area_m2())).unwrap()
            },
        ),
        one("dogleg", "path", RELATIVE, 9e-16, "claimed: a few units of the last place, here four", |x| {
            dogleg(x[0], x[1], x[2], x[3])
        }),
        tried(
            "minimum_curvature",
            "path",
            &["east", "north", "up"],
            "of the displacement, times cos(b/2)",
            5e-16,
            "a direction is known to 1.1e-16, the mean of two to that over cos(b/2)",
            |x| {
                let end = minimum_curvature(&[0.0, x[0]], &[x[1], x[3]], &[x[2], x[4]]).unwrap()[1];
                end.map(Some).to_vec()
            },
        ),
        tried(
            "profile",
            "profile",
            &["fall", "slope"],
            "of the sum of the sizes of falls",
            1e-13,
            "two roundings of each of 24 lengths at stations of up to 3 km, and of as many sums",
            |x| {
                let n = x[1] as usize;
                let (breaks, tilts) = x[2..].split_at(n + 1);
                let profile = Layout::new(breaks, &[], &[], &[]).unwrap().profile(tilts, x[0], None);
                vec![Some(profile.fall_between(breaks[0], breaks[n])), profile.slope_between(breaks[0], breaks[n])]
            },
        ),
        tried("place", "geographic", &["longitude", "latitude"], "m", 1e-6, "claimed", |x| {
            let origin = Origin {
                longitude_rad: x[0],
                latitude_rad: x[1],
                east_m: 0.0,
                north_m: 0.0,
                grid_north_rad: x[2],
                sd_m: None,
            };
            let there = geographic::place(&origin, x[3], x[4]).unwrap();
            vec![Some(there.longitude_rad), Some(there.latitude_rad)]
        }),
        tried(
            "ellipse",
            "locate",
            &["major", "minor"],
            RELATIVE,
            1e-14,
            "some dozen roundings of positive terms",
            |x| {
                let ellipse = PlanError::new(x[0], x[1], x[2]).unwrap().ellipse();
                vec![Some(ellipse.major_sd_m), Some(ellipse.minor_sd_m)]
            },
        ),
        tried(
            "tape",
            "locate",
            &["from the first", "from the second", "along", "right"],
            "of the distance",
            2e-15,
            "a dozen roundings",
            |x| {
                let tape = offset([x[0], x[1]], [x[2], x[3]], [x[4], x[5]]).unwrap();
                [tape.from_first_m, tape.from_second_m, tape.along_m, tape.right_m].map(Some).to_vec()
            },
        ),
        one("pools", "pools", "of all water", 1e-12, "claimed of each piece of the water", move |x| {
            let (bore, n) = (bore(x), x[3] as usize);
            let (station_m, rest) = x[4..].split_at(n + 1);
            let (height_m, tilt_rad) = rest.split_at(n + 1);
            let profile = Profile {
                station_m: station_m.to_vec(),
                height_m: height_m.to_vec(),
                tilt_rad: tilt_rad.to_vec(),
                reach: vec![0; n],
                at_drop: vec![],
                scale: 1.0,
            };
            let found = pool::pools(&profile, &[Some(bore)], Flow::Increasing, Some(x[2]));
            found.iter().map(|p| p.volume_m3.unwrap() + p.backwater_m3.unwrap()).sum()
        }),
    ]
}

fn of_hydraulics() -> Vec<Tried> {
    let bore = |x: &[f64]| circle_or_ellipse(x[0], x[1]);
    let in_film = "relative, over 1 + 1/|ln| of Colebrook and White";
    let conditioned = "relative, over the condition";
    let depths = "claimed: the flow of the depth is the flow asked for to 1e-14, and the depth as good as that allows";
    vec![
        tried("flow", "uniform-flow", &["velocity", "flow"], in_film, 1e-12, "claimed", |x| {
            vec![Some(pipe(x).velocity_m_s(x[6])), Some(pipe(x).flow_m3_s(x[6]))]
        }),
        tried(
            "most",
            "uniform-flow",
            &["depth of the most", "the most", "full bore"],
            RELATIVE,
            1e-12,
            "claimed",
            |x| {
                let most = pipe(x).most();
                vec![Some(most.depth_m), Some(most.flow_m3_s), Some(most.full_m3_s)]
            },
        ),
        tried("normal_depth", "normal-depth", &["depth", "upper depth"], conditioned, 1e-14, depths, |x| {
            let normal = pipe(x).normal_depth(x[6]).unwrap();
            vec![normal.depth_m, normal.upper_depth_m]
        }),
        one("critical_depth", "critical-depth", RELATIVE, 1e-14, depths, move |x| {
            critical_depth_m(bore(x), x[2]).unwrap()
        }),
        tried(
            "froude_and_shear",
            "critical-depth",
            &["Froude number", "shear"],
            RELATIVE,
            1e-12,
            "claimed",
            move |x| {
                let friction = Friction::Manning { n: 0.01 };
                let pipe = Uniform { bore: bore(x), slope: x[4], friction };
                vec![Some(froude(bore(x), x[2], x[3]).unwrap()), Some(shear_pa(&pipe, x[2]))]
            },
        ),
        one(
            "diameter_for_flow",
            "uniform-flow",
            RELATIVE,
            1e-12,
            "claimed of the flow, of which it is the root",
            |x| {
                let pipe = pipe(x);
                diameter_for_flow_m(pipe.slope, pipe.friction, x[7], x[6]).unwrap().unwrap()
            },
        ),
        one("slope_for_flow", "uniform-flow", RELATIVE, 1e-12, "claimed of the flow, of which it is the root", |x| {
            let pipe = pipe(x);
            slope_for_flow(pipe.bore, pipe.friction, x[6] * pipe.bore.height_m(), x[7]).unwrap().unwrap()
        }),
        one("water_viscosity", "uniform-flow", RELATIVE, 1e-14, "some dozen roundings", |x| {
            water_viscosity_m2_s(x[0]).unwrap()
        }),
        one("critical_shear", "self-cleansing", RELATIVE, 1e-15, "three roundings", |x| {
            critical_shear_pa(x[0]).unwrap()
        }),
        one("waste_water_flow", "discharge", RELATIVE, 5e-15, "a sum of up to 60, a root, two products", |x| {
            let uses = [Use::Intermittent, Use::Frequent, Use::Congested, Use::Special];
            let used = uses.into_iter().find(|used| used.factor().to_bits() == x[0].to_bits()).unwrap();
            waste_water_flow_m3_s(&x[1..], used).unwrap()
        }),
    ]
}

/// Error of an answer in its unit; an angle may be a turn off.
fn error(found: f64, answer: &str, name: &str) -> f64 {
    let numbers: Vec<f64> = answer.split_whitespace().map(|n| n.parse().unwrap()).collect();
    let [near, rest, unit] = numbers[..] else { panic!("{name}: {answer}") };
    let mut off = found - near;
    if name == "place" && off.abs() > core::f64::consts::PI {
        off -= core::f64::consts::TAU.copysign(off);
    }
    ((off - rest) / unit).abs()
}

#[test]
fn the_worst_of_each_function() {
    let folder =
        PathBuf::from(std::env::var_os("FALLWISE_CASES").expect("FALLWISE_CASES names the folder of the cases"));
    let all: Vec<Tried> = [elementary(), of_units(), geometry(), of_hydraulics()].into_iter().flatten().collect();
    let files: BTreeSet<String> =
        fs::read_dir(&folder).unwrap().map(|f| f.unwrap().file_name().into_string().unwrap()).collect();
    assert_eq!(
        files,
        all.iter().map(|t| format!("{}.txt", t.name)).collect(),
        "every file is of a function, and the reverse"
    );
    let mut failed = Vec::new();
    for of in &all {
        let text = fs::read_to_string(folder.join(format!("{}.txt", of.name))).unwrap();
        let reference = reference(
            of.computation,
            "random cases of tests/manual/cases.py (mpmath, 50 digits and more)",
            Mark::Computed,
        );
        let names: Vec<String> = match of.answers {
            [] => vec![of.name.to_owned()],
            answers => answers.iter().map(|a| format!("{}: {a}", of.name)).collect(),
        };
        let mut worst: Vec<_> = names.iter().map(|name| reference.many(name, of.unit, of.bound, of.why)).collect();
        for line in text.lines() {
            let mut parts = line.split("; ");
            let arguments: Vec<f64> = parts.next().unwrap().split_whitespace().map(|n| n.parse().unwrap()).collect();
            let answers = (of.of)(&arguments);
            assert_eq!(answers.len(), worst.len(), "{}", of.name);
            for ((found, expected), worst) in answers.into_iter().zip(parts).zip(&mut worst) {
                match (found, expected) {
                    (None, "-") => {}
                    (Some(found), expected) if expected != "-" => {
                        worst.error(error(found, expected, of.name), || format!("{arguments:?}"));
                    }
                    other => panic!("{}: {other:?} at {arguments:?}", of.name),
                }
            }
        }
        for worst in worst {
            // All are looked at before any fails.
            let told = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| worst.done(1)));
            if let Err(why) = told {
                failed.push(why.downcast_ref::<String>().cloned().unwrap_or_default());
            }
        }
    }
    assert!(failed.is_empty(), "{}", failed.join("\n"));
}
