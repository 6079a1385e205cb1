//! Any number at all into every public function that takes numbers: what is refused is a typed error with words, what is
//! given is finite. Not a number comes out of a function without errors only where not a number went in, or where
//! mathematics has no value.
//!
//! Whole jobs are given any number in `hostile_jobs`, ties in `hostile_ties`. `every_function_is_asked` reads the sources of the
//! core and fails for a function that takes numbers and is in none of these.

#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "helpers of tests, which clippy does not take for tests; the platform's own functions to compare with"
)]

use core::{cell::RefCell, fmt::Debug};
use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path as FilePath, PathBuf},
};

use fallwise::{
    Bore, Chain, Error, Flow, Instrument, Job, Lateral, Origin, Path, Pipe, Profile, Reach, Rulebook, Run, Tie,
    adjust::{self, Anchor, Shared, Surveyed},
    chain::{self, Averaged, Averaging, FitOptions, average},
    condition::{Moments, condition, display_step_rad, reversal_check_sd_rad, sign_of_head, zero_by_reversal},
    error::require_finite,
    geographic::place,
    hydraulics::{self, Friction, PlumbingCode, Uniform},
    lateral::{Live, LiveOptions, LiveReading},
    locate::{self, PlanError},
    math,
    model::{
        Bend, Capacity, Dig, DigOptions, Discharge, GroundPoint, Known, Landmark, Nominal, Place, RelayChoice,
        RelayCosts, ReportChoice, ReversalCheck, SizeUnit, TiltPositive, Use, depth_sd_m,
    },
    path::{self, Layout, Start},
    pool, profile,
    relay::{self, Asked, Costs, Digging, Line, Node, Outcome, Span},
    simulate::{self, Counts, Flaw, Flaws, Head, Lip, Truth},
    units::{self, LengthUnit, Voice, Words},
    what_next::Proposal,
};

/// Numbers that functions stumble over: zeros of both signs, what is next to nothing, next to each other, huge, endless, and
/// not a number, with payloads and quiet or not.
const NASTY: [u64; 34] = [
    0x0000_0000_0000_0000, // 0
    0x8000_0000_0000_0000, // -0
    0x0000_0000_0000_0001, // the least
    0x8000_0000_0000_0001,
    0x000F_FFFF_FFFF_FFFF, // the greatest that is denormal
    0x0010_0000_0000_0000, // the least that is normal
    0x01A5_6E1F_C2F8_F359, // 1e-300
    0x1E5A_F3C3_9E2F_1E5B, // its square is denormal
    0x3C9C_D2B2_97D8_89BC, // 1e-16
    0x3CB0_0000_0000_0000, // 2^-52
    0x3E45_798E_E230_8C3A, // 1e-8
    0x3FEF_FFFF_FFFF_FFFF, // just below 1
    0x3FF0_0000_0000_0000, // 1
    0x3FF0_0000_0000_0001, // just above 1
    0xBFF0_0000_0000_0000, // -1
    0x3FE9_21FB_5444_2D18, // a quarter of pi
    0x3FF9_21FB_5444_2D18, // half of pi
    0xBFF9_21FB_5444_2D18,
    0x4009_21FB_5444_2D18, // pi
    0x4056_8000_0000_0000, // 90
    0x408F_4000_0000_0000, // 1e3
    0x4197_D784_0000_0000, // 1e8
    0x4340_0000_0000_0001, // above 2^53
    0x5FE6_9E8B_0000_0000, // its square is too large
    0x7E37_E43C_8800_759C, // 1e300
    0x7FEF_FFFF_FFFF_FFFF, // the greatest
    0xFFEF_FFFF_FFFF_FFFF,
    0x7FF0_0000_0000_0000, // infinite
    0xFFF0_0000_0000_0000,
    0x7FF8_0000_0000_0000, // not a number
    0xFFF8_0000_0000_0000,
    0x7FF8_0000_DEAD_BEEF, // with a payload
    0x7FF0_0000_0000_0001, // signalling
    0x7FFF_FFFF_FFFF_FFFF,
];

/// Numbers as a drain has them.
const USUAL: [f64; 8] = [0.01, 0.02, 0.1, 0.15, 0.35, 0.6, 2.0, 12.5];

/// Tuples of so many numbers: each of the nasty ones in each place among usual ones, then mixtures of all.
fn tuples<const N: usize>() -> Vec<[f64; N]> {
    let mut random = math::Random::new(7, 0, 0);
    let mut pick = |count: usize| usize::try_from(random.next_u64() % count as u64).unwrap();
    let mut all = Vec::new();
    for at in 0..N {
        for bits in NASTY {
            for _ in 0..4 {
                let mut tuple = [0.0; N].map(|_| USUAL[pick(USUAL.len())]);
                tuple[at] = f64::from_bits(bits);
                all.push(tuple);
            }
        }
    }
    for _ in 0..2000 {
        all.push(
            [0.0; N].map(|_| {
                if pick(3) == 0 { USUAL[pick(USUAL.len())] } else { f64::from_bits(NASTY[pick(NASTY.len())]) }
            }),
        );
    }
    all
}

/// Whether anything printed of a value is not a number, or endless.
fn odd(value: &dyn Debug) -> bool {
    let text = format!("{value:?}");
    text.split(|c: char| !c.is_alphanumeric()).any(|word| word == "NaN" || word == "inf")
}

thread_local! {
    /// The first complaint of each function, for a test at a time.
    static COMPLAINTS: RefCell<BTreeMap<String, String>> = const { RefCell::new(BTreeMap::new()) };
}

/// Keeps a complaint, so that one run of a test tells of all functions.
fn expect(fine: bool, name: &str, told: impl FnOnce() -> String) {
    if !fine {
        COMPLAINTS.with_borrow_mut(|all| {
            all.entry(name.to_owned()).or_insert_with(told);
        });
    }
}

/// Fails where there were complaints.
fn no_complaints() {
    COMPLAINTS.with_borrow_mut(|all| assert!(all.is_empty(), "{:#?}", core::mem::take(all)));
}

/// What is given is finite; what is refused says what it is about.
fn typed<T: Debug>(name: &str, given: &dyn Debug, result: &Result<T, Error>) {
    match result {
        Ok(value) => expect(!odd(value), name, || format!("{given:?} gives {value:?}")),
        Err(error) => {
            let said = error.to_string();
            expect(said.len() > 10, name, || format!("{given:?}: {said}"));
        }
    }
}

/// What a function without errors gives of finite numbers is finite. Of others it may be not a number or endless.
fn finite<T: Debug>(name: &str, given: &[f64], value: &T) {
    if given.iter().all(|x| x.is_finite()) {
        expect(!odd(value), name, || format!("{given:?} gives {value:?}"));
    }
}

/// What a function without errors gives of any number is finite.
fn always<T: Debug>(name: &str, given: &dyn Debug, value: &T) {
    expect(!odd(value), name, || format!("{given:?} gives {value:?}"));
}

/// What a function without errors gives of numbers as they may be is finite: of what reaches beyond the survey, which goes on straight.
fn reaching<T: Debug>(name: &str, given: &[f64], value: &T) {
    if given.iter().all(|x| x.abs() < 1e100) {
        expect(!odd(value), name, || format!("{given:?} gives {value:?}"));
    }
}

/// Bores that may be, of such sizes.
fn bores(a: f64, b: f64) -> impl Iterator<Item = Bore> {
    [Bore::Circle { diameter_m: a }, Bore::Ellipse { width_m: a, height_m: b }]
        .into_iter()
        .filter(|bore| bore.validate().is_ok())
}

/// The platform's own functions agree, to two units in the last place: each is right to one. Also where they have no value.
#[test]
fn elementary_functions() {
    type One = fn(f64) -> f64;
    let pairs: [(&str, One, One); 13] = [
        ("sin", math::sin, f64::sin),
        ("cos", math::cos, f64::cos),
        ("tan", math::tan, f64::tan),
        ("asin", math::asin, f64::asin),
        ("acos", math::acos, f64::acos),
        ("atan", math::atan, f64::atan),
        ("exp", math::exp, f64::exp),
        ("exp_m1", math::exp_m1, f64::exp_m1),
        ("ln", math::ln, f64::ln),
        ("ln_1p", math::ln_1p, f64::ln_1p),
        ("log10", math::log10, f64::log10),
        ("cbrt", math::cbrt, f64::cbrt),
        ("sin_cos", |x| math::sin_cos(x).0, f64::sin),
    ];
    let agree = |ours: f64, theirs: f64| {
        ours.is_nan() && theirs.is_nan()
            || ours.is_sign_negative() == theirs.is_sign_negative() && ours.to_bits().abs_diff(theirs.to_bits()) <= 2
    };
    for [x] in tuples::<1>() {
        for (name, ours, theirs) in pairs {
            assert!(agree(ours(x), theirs(x)), "{name}({x:e}): {:e} and {:e}", ours(x), theirs(x));
        }
        for (name, value, low, high) in [
            ("erf", math::erf(x), -1.0, 1.0),
            ("erfc", math::erfc(x), 0.0, 2.0),
            ("normal_cdf", math::normal_cdf(x), 0.0, 1.0),
            ("chi_square_above", math::chi_square_above(x, 3), 0.0, 1.0),
        ] {
            assert!(x.is_nan() && value.is_nan() || (low..=high).contains(&value), "{name}({x:e}) is {value:e}");
        }
        // Endless at 0 and 1, and without a value beyond them.
        let quantile = math::normal_quantile(x);
        assert_eq!(quantile.is_nan(), !(0.0..=1.0).contains(&x), "normal_quantile({x:e}) is {quantile:e}");
    }
    // Whether a signalling one is heard beside an endless one, C leaves open: here all are quiet.
    let quiet = |x: f64| if x.is_nan() { f64::from_bits(x.to_bits() | 1 << 51) } else { x };
    for [x, y] in tuples::<2>() {
        let (x, y) = (quiet(x), quiet(y));
        for (name, ours, theirs) in [
            ("atan2", math::atan2(x, y), x.atan2(y)),
            ("pow", math::pow(x, y), x.powf(y)),
            ("hypot", math::hypot(x, y), x.hypot(y)),
        ] {
            assert!(agree(ours, theirs), "{name}({x:e}, {y:e}): {ours:e} and {theirs:e}");
        }
    }
    no_complaints();
}

#[test]
fn noise_and_order() {
    for x in tuples::<4>() {
        let [a, b, c, d] = x;
        let mut values = x;
        finite("median", &x.map(|v| 0.5 * v), &math::median(&mut values.map(|v| 0.5 * v)));
        let middle = math::median(&mut values);
        assert!(
            x.iter().any(|v| v.is_nan())
                || x.contains(&middle)
                || middle.is_finite()
                || !x.iter().all(|v| v.is_finite())
        );
        let mut sorted = x;
        sorted.sort_by(f64::total_cmp);
        finite("quantile", &x.map(|v| 0.25 * v), &math::quantile(&sorted.map(|v| 0.25 * v), b.clamp(0.0, 1.0)));
        let _ = (math::quantile(&x, a), math::sum(&x));
        for (name, value) in [
            ("before_rounding", math::before_rounding(a, b)),
            ("rounding_error_sd", math::rounding_error_sd(a, b)),
            ("spread_sd", math::spread_sd(&[a, b, c], &[d, 1.0, 1.0], 0.001)),
            ("wander_variance", math::wander_variance(a, b)),
            ("ar1_mean_variance", math::ar1_mean_variance(5, a)),
        ] {
            assert!(value >= 0.0 || value.is_nan(), "{name} of {x:?} is {value}");
        }
        always("noise_within_steps", &x, &math::noise_within_steps(&[vec![a, b, c, d], vec![d, c]]).map(|_| ()));
        let step = display_step_rad(&x);
        assert!(step >= 0.0 && step.is_finite(), "display_step_rad of {x:?} is {step}");
        let sd = reversal_check_sd_rad(a);
        assert!(sd >= 0.0 || a.is_nan(), "reversal_check_sd_rad of {a} is {sd}");
        let sd = depth_sd_m(a);
        assert!(sd >= 0.0 || a.is_nan(), "depth_sd_m of {a} is {sd}");
    }
    no_complaints();
}

#[test]
fn sections() {
    for [a, b, depth, other] in tuples::<4>() {
        typed("Bore::circle", &a, &Bore::circle(a));
        typed("Bore::ellipse", &(a, b), &Bore::ellipse(a, b));
        for bore in bores(a, b) {
            let most = [bore.full_area_m2(), bore.width_m(), bore.height_m()];
            always("full_area_m2, width_m, height_m", &bore, &most);
            let values = [
                bore.area_m2(depth),
                bore.antiderivative_m3(depth.min(1e100)), // it grows with the depth above the crown
                bore.mean_area_m2(depth, other),
                bore.wetted_perimeter_m(depth),
                bore.top_width_m(depth),
                bore.hydraulic_radius_m(depth),
            ];
            if !depth.is_nan() && !other.is_nan() {
                always("section", &(bore, depth, other), &values);
                assert!(values.iter().all(|v| *v >= 0.0), "{bore:?} {depth} {other}: {values:?}");
                assert!(values[0] <= most[0] && values[4] <= most[1], "{bore:?} {depth}: {values:?}");
            }
            typed("depth_for_area_m", &(bore, depth), &bore.depth_for_area_m(depth));
        }
    }
    no_complaints();
}

#[test]
fn flow_of_water() {
    for x in tuples::<5>() {
        let [size, slope, rough, a, b] = x;
        typed("water_viscosity_m2_s", &a, &hydraulics::water_viscosity_m2_s(a));
        typed("critical_shear_pa", &a, &hydraulics::critical_shear_pa(a));
        typed("continuous_fixture_units", &(a, b), &hydraulics::continuous_fixture_units(a, b));
        for unit in [SizeUnit::Inch, SizeUnit::Dn] {
            let nominal = Nominal { size: a, unit };
            typed("outlet_fixture_units", &nominal, &hydraulics::outlet_fixture_units(nominal));
            for code in [PlumbingCode::Ipc, PlumbingCode::Upc] {
                typed("most_fixture_units", &(nominal, b), &hydraulics::most_fixture_units(nominal, b, code));
                let found = hydraulics::drain_for_fixture_units(a, b, size > 0.1, code);
                typed("drain_for_fixture_units", &(a, b), &found);
            }
        }
        typed("waste_water_flow_m3_s", &x, &hydraulics::waste_water_flow_m3_s(&[a, b], Use::Frequent));
        let discharge = Discharge {
            frequency: Use::Intermittent,
            system: None,
            fixtures: BTreeMap::new(),
            units_m3_s: vec![a, b],
            continuous_m3_s: Some(rough),
        };
        typed("design_flow_m3_s", &x, &hydraulics::design_flow_m3_s(&discharge));
        for bore in [Bore::Circle { diameter_m: size }, Bore::Ellipse { width_m: size, height_m: a }] {
            typed("critical_depth_m", &x, &hydraulics::critical_depth_m(bore, b));
            // Endless where the surface has no width, as its documentation says.
            typed("froude", &x, &hydraulics::froude(bore, a, b).map(|number| number > 0.0));
            typed("slope_for_shear", &x, &hydraulics::slope_for_shear(bore, a, b));
            for friction in [
                Friction::Manning { n: rough },
                Friction::ColebrookWhite { roughness_m: rough, viscosity_m2_s: 1.3e-6 },
            ] {
                typed("Friction::validate", &friction, &friction.validate());
                typed("slope_for_flow", &x, &hydraulics::slope_for_flow(bore, friction, a, b));
                typed("slope_for_velocity_of_flow", &x, &hydraulics::slope_for_velocity_of_flow(bore, friction, a, b));
                typed("slope_for_shear_of_flow", &x, &hydraulics::slope_for_shear_of_flow(bore, friction, a, b));
                let pipe = Uniform::new(bore, slope, friction);
                typed("Uniform::new", &x, &pipe);
                let Ok(pipe) = pipe else { continue };
                always("most", &x, &pipe.most());
                finite("flow", &x, &[pipe.velocity_m_s(a), pipe.flow_m3_s(a), hydraulics::shear_pa(&pipe, a)]);
                typed("normal_depth", &x, &pipe.normal_depth(a));
                typed("self_cleansing", &x, &hydraulics::self_cleansing(&pipe, a, 0.7, 1.5));
                typed("self_cleansing", &x, &hydraulics::self_cleansing(&pipe, 0.001, a, b));
            }
        }
        for friction in
            [Friction::Manning { n: rough }, Friction::ColebrookWhite { roughness_m: rough, viscosity_m2_s: b }]
        {
            typed("diameter_for_flow_m", &x, &hydraulics::diameter_for_flow_m(slope, friction, a, size));
        }
    }
    no_complaints();
}

fn averaged(of: &Averaging<'_>) -> Averaged {
    average(of).unwrap()
}

#[test]
fn lines_in_space() {
    for x in tuples::<6>() {
        let [a, b, c, d, e, f] = x;
        typed("minimum_curvature", &x, &path::minimum_curvature(&[a, b], &[c, d], &[e, f]));
        finite("dogleg", &x, &path::dogleg(a, b, c, d));
        let origin =
            Origin { longitude_rad: a, latitude_rad: b, east_m: c, north_m: d, grid_north_rad: e, sd_m: Some(f) };
        typed("Origin::validate", &x, &origin.validate());
        typed("place", &x, &place(&origin, e, f));
        let origin = Origin {
            longitude_rad: 0.1,
            latitude_rad: 0.9,
            east_m: 0.0,
            north_m: 0.0,
            grid_north_rad: 0.0,
            sd_m: None,
        };
        typed("place", &x, &place(&origin, a, b));
        typed("Layout::new", &x, &Layout::new(&[a, b, c], &[], &[], &[]));
        typed("Chain::new", &x, &Chain::new(vec![a, b, c], vec![d, e]));
        typed("Chain::raw", &x, &Chain::raw(&[a, b, c], &[d, e, f]));
        typed("Chain::given", &x, &Chain::given(&[0.0, 1.0, 2.0], &[a, b, c], &[1.0, d, 1.0], &[0.0, e, 2.0]));
        let options = FitOptions { noise_sd: Some(e), penalty: Some(f), ..FitOptions::default() };
        typed(
            "Chain::fitted",
            &x,
            &Chain::fitted(&[0.0, 1.0, 2.0, 3.0], &[a, b, c, d], &[1.0; 4], &[], &options).map(|(chain, _)| chain),
        );
        typed("chain::fit", &x, &chain::fit(&[a, b, c, d], &[1.0, e, 1.0, 1.0], &[], &FitOptions::default()));
        typed("correlated_noise", &x, &chain::correlated_noise(&[a, b, c, d, 0.0, 0.1], &[1.0; 6], f));
        let chain = Chain::new(vec![0.0, 1.0, 2.0], vec![0.02, 0.01]).unwrap();
        let _ = chain.ranges(&[a, b, c]);
        typed("means", &x, &chain.means(&[a, b, c], &[d, e, f], &[1.0, 1.0, 1.0]));

        let of = Averaging {
            station_m: &[0.0, 1.0, 2.0, 3.0],
            tilt_rad: &[0.01, 0.01, 0.03, 0.03],
            weight: &[1.0; 4],
            hard_breaks_m: &[],
            joints_m: &[],
            ends_m: (0.0, 3.0),
            noise_sd_rad: 0.004,
            rounding_sd_rad: 0.0,
            wander_sd_rad: 0.0,
            head_length_m: 0.15,
            draws: 3,
            seed: 0,
            lateral: 0,
        };
        finite("break_about", &x, &averaged(&of).break_about(a, b, c).chance);

        // A path as it was made of a chain that may be.
        let layout = Layout::new(&[0.0, 1.0, 2.0], &[], &[], &[]).unwrap();
        let path = Path::new(&layout, &[0.02, 0.01], 1.0, Start::default());
        always("position", &a, &(path.position(a), path.height(a), path.direction(a), path.azimuth(a)));
        always("nearest", &x, &path.nearest(a, b));
        let turned =
            Path::turned(&layout, &[a, b], c, Start { azimuth_rad: Some(d), east_m: e, north_m: f }, None, None);
        let _ = (turned.position(0.5), turned.nearest(a, b), turned.height(a), turned.azimuth(a));
        let _ = layout.check_bends(&[a, b]);
        let mut out = [0.0; 2];
        layout.fall_gradient(&[0.02, 0.01], 1.0, a, b, &mut out);
        always("fall_gradient", &x, &out);

        let plain = layout.profile(&[0.02, 0.01], 1.0, None);
        heights(&plain, &x);
        // Of numbers that nobody looked at.
        let wild = layout.profile(&[a, b], c, None);
        let _ =
            (wild.height_at(d), wild.fall_between(d, e), wild.slope_between(d, e), wild.crossings(f), wild.lowest());
        for flow in [Flow::Increasing, Flow::Decreasing] {
            let bore = Some(Bore::Circle { diameter_m: 0.1 });
            let found = pool::pools(&plain, &[bore], flow, Some(a));
            assert!(found.iter().all(|pool| pool.volume_m3.is_none_or(|v| v >= 0.0)), "pools with {a}: {found:?}");
            if a.is_finite() {
                always("pools", &a, &found);
            }
            let _ = (pool::water_level(&plain, flow, Some(a)), pool::pools(&wild, &[bore], flow, Some(f)));
        }
    }
    no_complaints();
}

/// What a profile is asked by station and height.
fn heights(profile: &Profile, x: &[f64; 6]) {
    let [a, b, ..] = *x;
    always("height_at", x, &(profile.height_at(a), profile.fall_between(a, b), profile.slope_between(a, b)));
    always("length_between", x, &(profile.drop_fall_between(a, b), profile.length_between(a, b), profile.crossings(a)));
    let ground = [
        GroundPoint { station_m: 0.0, elevation_m: 10.0, sd_m: Some(0.01) },
        GroundPoint { station_m: 3.0, elevation_m: 9.0, sd_m: None },
    ];
    always("ground_at", &a, &(profile::ground_at(&ground, a), profile::ground_sd_at(&ground, a)));
    finite(
        "cover_m",
        x,
        &profile::cover_m(x[0], x[1], x[2], x[3], x[4]).filter(|_| x[..4].iter().all(|x| x.abs() < 1e300)),
    );
}

#[test]
fn places_to_dig() {
    for x in tuples::<5>() {
        let [a, b, c, d, e] = x;
        let error = PlanError::new(a, b, c);
        typed("PlanError::new", &x, &error);
        if let Ok(error) = error {
            always("ellipse", &x, &(error.ellipse(), error.east_sd_m(), error.north_sd_m(), error.correlation()));
            finite("sd_m", &x, &(error.sd_m(d), error.sd_along_m([d.clamp(-1e100, 1e100), e.clamp(-1e100, 1e100)])));
        }
        // Two tapes that lie on each other say nothing across: the factor of their errors is endless, as its documentation says.
        let tapes = locate::offset([a, b], [c, d], [e, 1.0]);
        typed(
            "offset",
            &x,
            &tapes.map(|o| (o.from_first_m, o.from_second_m, o.along_m, o.right_m, o.error_factor >= 1.0)),
        );
        let options = DigOptions { across_m: d, tie_within_m: e, ..DigOptions::default() };
        typed("DigOptions::validate", &x, &options.validate());
        for options in
            [options, DigOptions { confidence: d, margin_m: e, ..DigOptions::default() }, DigOptions::default()]
        {
            typed("dig", &x, &locate::dig(Some(a), Some(b), Some((c, d)), &options));
        }
    }
    no_complaints();
}

/// A lateral with levels at both ends, ground above it, a landmark and a plan's costs.
fn surveyed() -> Lateral {
    let readings = 0..120;
    let counter_m = readings.clone().map(|i| 0.1 * f64::from(i)).collect();
    let tilt = |i: i32| 0.02 + 0.004 * math::sin(0.9 * f64::from(i)) - if i > 60 { 0.025 } else { 0.0 };
    let run = Run {
        start_azimuth_rad: Some(1.0),
        start_azimuth_sd_rad: Some(0.02),
        time_s: Some(readings.clone().map(f64::from).collect()),
        ..Run::new(counter_m, readings.map(tilt).collect())
    };
    let ground = |station_m: f64| GroundPoint { station_m, elevation_m: 101.5, sd_m: Some(0.02) };
    let level = |station_m: f64, elevation_m: f64| {
        Tie::new(Known::Invert { at: Place::exact(station_m), elevation_m, sd_m: 0.005 })
    };
    let pipe = Pipe { bore: Some(Bore::Circle { diameter_m: 0.1 }), manning_n: Some(0.013), ..Pipe::default() };
    let reach = Reach { from_m: 0.0, to_m: 11.9, name: String::new(), pipe, owner: None, facts: BTreeMap::new() };
    Lateral::solve(Job {
        reaches: vec![reach],
        runs: vec![run],
        ground: vec![ground(0.0), ground(12.0)],
        ties: vec![level(0.0, 100.0), level(11.5, 99.9)],
        landmarks: vec![Landmark::new("post", 0.0, 0.0), Landmark::new("gate", 5.0, 5.0)],
        report: ReportChoice { draws: 40, ..ReportChoice::default() },
        ..Job::default()
    })
    .unwrap()
}

#[test]
fn questions_to_a_lateral() {
    let lateral = surveyed();
    let (profile, posterior) = (lateral.profile(), lateral.posterior());
    let layout = Layout::new(&lateral.chain().breaks_m, &[], &[], &[]).unwrap();
    let beside = Surveyed { posterior, layout: &layout, profile };
    for x in tuples::<2>() {
        let [a, b] = x;
        always("slope_between", &x, &(lateral.slope_between(a, b), lateral.fall_between(a, b)));
        always("at", &x, &lateral.at(&[a, b]));
        always("height_covariance", &x, &lateral.height_covariance(&[a, b]));
        typed("locate", &x, &lateral.locate(a, b));
        typed("tapes", &x, &lateral.tapes(a, b));
        typed("nearest", &x, &lateral.nearest(a, b));

        for flow in [Flow::Increasing, Flow::Decreasing] {
            reaching("fall", &x, &posterior.fall(&layout, profile, flow, a, b));
            reaching("slope", &x, &posterior.slope(&layout, profile, flow, a, b));
            let fall = posterior.fall_quantity(&layout, profile, flow, a, b);
            reaching("fall_quantity", &x, &(posterior.estimate(&fall), posterior.budget(&fall)));
            if let Some(slope) = posterior.slope_quantity(&layout, profile, flow, a, b) {
                reaching("covariance", &x, &posterior.covariance(&slope, &fall));
                reaching("correlations", &x, &posterior.correlations(&[0], &[&slope, &fall]));
            }
        }
        reaching("mean_tilt", &x, &posterior.mean_tilt(&layout, profile, a, b));
        reaching("elevation", &x, &posterior.elevation(&layout, profile, a));
        reaching("heights_about_mean", &x, &posterior.heights_about_mean(&layout, profile, &[a, b]));
        reaching("lips_m", &x, &posterior.lips_m(a));
        always("height_covariance", &x, &posterior.height_covariance(&layout, profile, Anchor::Station(a), &[a, b]));
        always("height_sd_m", &x, &posterior.height_sd_m(&layout, profile, Anchor::Station(a)));
        reaching("plan_covariance_m2", &x, &posterior.plan_covariance_m2(&layout, lateral.path(), &[a, b]));
        let mut quantities = vec![beside.height(a, b.clamp(-1e100, 1e100))];
        quantities.extend(beside.slope(a, b).into_iter().chain(beside.elevation(a)));
        for quantity in &quantities {
            for shared in [Shared::Nothing, Shared::Zero] {
                reaching("change", &x, &adjust::change((&beside, quantity), (&beside, quantity), shared));
            }
        }
        typed("require_finite", &x, &require_finite("x", &[a, b]));
        let spoilt = posterior.clone().with_errors(&[0.0, a, b], &[(String::new(), (a, b), b)]).towards(posterior, a);
        let _ = (spoilt.fall(&layout, profile, Flow::Increasing, 0.0, 1.0), Proposal::other_end(a, b).with_result(b));
        let _ = adjust::ties::is_near((a, b), 1.0) || adjust::ties::is_near((0.0, 1.0), a);
        let _ =
            (adjust::Estimate::new(a, b), posterior.tilt_sd_rad(usize::MAX), posterior.tilt_covariance(0, usize::MAX));
    }
    for [a] in tuples::<1>().into_iter().step_by(17) {
        for pool in lateral.pools_with(Some(a)) {
            assert!(pool.exists_probability.is_none_or(|p| (0.0..=1.0).contains(&p)), "{a}: {pool:?}");
            let _ = (pool::sentence(&pool, Words::Us), pool.pool.map(|p| p.meets(a, 1.0)));
        }
    }
    let found = lateral.pools();
    for x in tuples::<2>() {
        let said = pool::water_findings(&[(x[0], x[1])], &[(x[1], x[0])], &found, Words::Uk);
        assert!(said.iter().all(|(_, _, said)| !said.to_string().is_empty()), "{x:?}");
    }
    no_complaints();
}

#[test]
fn what_to_do_about_it() {
    let lateral = surveyed();
    let book = Rulebook::shipped("ipc-2021").unwrap();
    for x in tuples::<4>().into_iter().step_by(29) {
        let [a, b, c, d] = x;
        let discharge = Discharge {
            frequency: Use::Intermittent,
            system: None,
            fixtures: BTreeMap::new(),
            units_m3_s: vec![c],
            continuous_m3_s: Some(d),
        };
        for asked in [
            Capacity { flow_m3_s: Some(a), manning_n: Some(b), ..Capacity::default() },
            Capacity { discharge: Some(discharge), ..Capacity::default() },
        ] {
            typed("capacity", &x, &lateral.capacity(&asked));
        }
        let choice = RelayChoice {
            min_slope: Some(a),
            confidence: b,
            min_length_m: c,
            max_length_m: Some(d),
            ..RelayChoice::default()
        };
        typed("relay", &x, &lateral.relay(&choice, Some(&book)));
        let choice = RelayChoice {
            min_slope: Some(0.01),
            width_m: Some(a),
            batter: b,
            costs: RelayCosts { per_trench: c, per_m: d, ..RelayCosts::default() },
            ..RelayChoice::default()
        };
        typed("relay", &x, &lateral.relay(&choice, None));
    }

    // The planner by itself.
    let joints = |x: &[f64; 4]| [Node::joint(0.0, x[0]), Node::joint(1.0, x[1]), Node::joint(x[2], 0.0)];
    for x in tuples::<4>() {
        let nodes = joints(&x);
        let span = Span { level_m: 1.0, min_slope: x[3], max_slope: None, reach: 0, may_dig: true, may_stay: true };
        let ground = [
            GroundPoint { station_m: 0.0, elevation_m: 2.0, sd_m: None },
            GroundPoint { station_m: 2.0, elevation_m: x[2], sd_m: None },
        ];
        let line = Line { nodes: &nodes, spans: &[span, span], fall_sd_m: &|_, _| Some(x[1]), ground: &ground };
        for costs in [Costs::default(), Costs { per_trench: x[0], per_m: x[1], per_m_depth: x[2], surfaces: vec![] }] {
            let asked = Asked { confidence: 0.9, ..Asked::default() };
            let found = relay::plan(&line, &asked, &costs);
            typed("plan", &x, &found);
            typed(
                "plan",
                &x,
                &relay::plan(
                    &line,
                    &Asked { confidence: x[0], min_length_m: x[1], max_length_m: Some(x[2]), ..asked },
                    &costs,
                ),
            );
            if let Ok(Outcome::Plan(plan)) = found {
                let digging = Digging { width_m: x[0], batter: x[1], stick_m: Some(x[2]) };
                typed("trenches", &x, &relay::trenches(&line, &plan, &digging));
                typed("joint_probability", &x, &plan.joint_probability(&line, &vec![x[..3].to_vec()]));
            }
        }
    }
    no_complaints();
}

#[test]
fn readings_and_runs() {
    for x in tuples::<4>() {
        let [a, b, c, d] = x;
        let run = Run { time_s: Some(vec![0.0, c, d]), start_station_m: d, ..Run::new(vec![0.0, a, b], vec![0.01; 3]) };
        let moments = Moments::new(&run)
            .map(|moments| moments.map(|m| (m.time_at(a).map(|m| m.time_s), m.station_at(c).map(|p| p.station_m))));
        typed("Moments", &x, &moments);
        typed("condition", &x, &condition(&Run::new(vec![0.0, a, b], vec![c, d, 0.0]), &Instrument::default(), &[]));
        reaching(
            "station_m",
            &x,
            &[0.5 * run.station_m(a.clamp(-1e300, 1e300)), 0.5 * run.counter_at_m(a.clamp(-1e300, 1e300))],
        );
        finite("tilt_rad", &x, &run.tilt_rad(a));
        let check =
            ReversalCheck { first_rad: a, second_rad: b, sd_rad: Some(c), tilt_positive: Some(TiltPositive::Down) };
        typed("zero_by_reversal", &x, &zero_by_reversal(&check, &[], d));
        typed("sign_of_head", &x, &sign_of_head(None, &[run]));

        let job = || Job::default();
        typed(
            "Live::new",
            &x,
            &Live::new(job(), LiveOptions { lag_m: a, cell_m: b, ..LiveOptions::default() }).map(|_| ()),
        );
        let mut live = Live::new(job(), LiveOptions::default()).unwrap();
        for [counter_m, reading_rad] in [[a, b], [c, d], [0.1, 0.01], [0.2, 0.012], [a, 0.02], [0.3, b]] {
            typed(
                "push",
                &x,
                &live.push(LiveReading { counter_m, reading_rad, time_s: None, moving: None, roll_rad: None }),
            );
        }
        typed("provisional", &x, &live.provisional().map(|p| p.map(|p| p.lateral.total())));
        typed("finish", &x, &live.finish().map(|lateral| lateral.total()));

        typed(
            "from_inverts",
            &x,
            &Lateral::from_inverts(&[0.0, 1.0, a], &[b, c, 0.0], Some(d), Pipe::default()).map(|l| l.total()),
        );
        typed(
            "from_segments",
            &x,
            &Lateral::from_segments(vec![0.0, a, b], vec![c, d], Pipe::default()).map(|l| l.total()),
        );

        let truth =
            Truth { breaks_m: vec![0.0, a, 4.0], tilt_rad: vec![b, 0.01], lips: vec![Lip { at_m: c, rise_m: d }] };
        let _ = (truth.height_m(a), truth.fall_m(a, b), truth.slope(a, b));
        typed("simulate::run", &x, &simulate::run(&truth, &Head::default(), &Flaws::default(), 0.5, 1).map(|s| s.run));
        let plain = Truth { breaks_m: vec![0.0, 4.0], tilt_rad: vec![0.01], lips: vec![] };
        let head = Head { zero_rad: a, noise_sd_rad: b, head_length_m: c, correlation_m: d, ..Head::default() };
        typed("simulate::run", &x, &simulate::run(&plain, &head, &Flaws::default(), 0.5, 1).map(|s| s.run));
        let flaws =
            Flaws { list: vec![Flaw::Spike { at_m: a, rad: b }, Flaw::Gap { from_m: a, to_m: c }], counter_scale: d };
        typed("simulate::run", &x, &simulate::run(&plain, &Head::default(), &flaws, 0.5, 1).map(|s| s.run));
        let counts = Counts { stops: 1, pull_backs: 1, spikes: 1, gaps: 1, resets: 1 };
        let flaws = Flaws { list: Flaws::scattered(a, b, counts, 3).list, counter_scale: 0.0 };
        let few = |flaw: &Flaw| !matches!(flaw, Flaw::Stop { .. });
        let flaws = Flaws { list: flaws.list.into_iter().filter(few).collect(), ..flaws };
        typed("simulate::run", &x, &simulate::run(&plain, &Head::default(), &flaws, 0.5, 1).map(|s| s.run));
    }
    no_complaints();
}

type Both = (&'static str, fn(f64) -> f64, fn(f64) -> f64);

#[test]
fn figures_in_words_and_other_units() {
    let book = Rulebook::shipped("as-nzs-3500-2").unwrap();
    for x in tuples::<2>() {
        let [a, b] = x;
        for words in [Words::Us, Words::Uk] {
            let voice = Voice::english(words);
            let said = [
                voice.slope(a),
                voice.slope_range(a, b),
                voice.length(a),
                voice.about(a),
                voice.small(a),
                voice.station(a),
                voice.at(a),
                voice.both(a, b),
                voice.elevation(a),
                voice.volume(a),
                voice.angle(a),
                voice.flow(a),
                voice.speed(a),
                voice.shear(a),
                voice.share(a),
                voice.probability(a),
                voice.number(a, 3),
                voice.short_slope(a),
            ];
            for text in said {
                assert!(!text.is_empty() && text.len() < 800, "{a:e}, {b:e}: {text}");
                let plain = !text.contains("NaN") && !text.contains("inf");
                assert!(plain || !a.is_finite() || !b.is_finite(), "{a:e}, {b:e}: {text}");
            }
            let shallower = words.shallower_m(a);
            // What lies on a step but for a millionth of it stays there.
            assert!(shallower <= a + 1.3e-8 || a.is_nan() || a < 0.0, "{a}: {shallower}");
        }
        // To another unit and back: the same to a rounding in each, where neither is too large or too small for a number.
        let there_and_back: [Both; 17] = [
            ("cm", units::cm, units::to_cm),
            ("cubic_foot", units::cubic_foot, units::to_cubic_foot),
            ("deg", units::deg, units::to_deg),
            ("ft", units::ft, units::to_ft),
            ("ft_per_s", units::ft_per_s, units::to_ft_per_s),
            ("gal_per_min", units::gal_per_min, units::to_gal_per_min),
            ("gallon", units::gallon, units::to_gallon),
            ("imperial_gallon", units::imperial_gallon, units::to_imperial_gallon),
            ("in_per_ft", units::in_per_ft, units::to_in_per_ft),
            ("inch", units::inch, units::to_inch),
            ("l_per_s", units::l_per_s, units::to_l_per_s),
            ("lb_per_ft2", units::lb_per_ft2, units::to_lb_per_ft2),
            ("litre", units::litre, units::to_litre),
            ("mm", units::mm, units::to_mm),
            ("mm_per_m", units::mm_per_m, units::to_mm_per_m),
            ("percent", units::percent, units::to_percent),
            ("yard", units::yard, units::to_yard),
        ];
        for (name, there, back) in there_and_back {
            let again = back(there(a));
            let in_range = (1e-290..1e290).contains(&a.abs()) || a.to_bits() << 1 == 0;
            assert!(!in_range || (again - a).abs() <= 1e-15 * a.abs(), "{name}({a:e}): {again:e}");
            assert_eq!(again.is_nan(), a.is_nan(), "{name}({a:e})");
        }
        let _ = (
            units::us_ft(a),
            units::to_us_ft(a),
            units::one_in(a),
            units::to_one_in(a),
            units::slope_to_tilt(a),
            units::tilt_to_slope(a),
        );
        for unit in [LengthUnit::M, LengthUnit::Ft, LengthUnit::UsFt] {
            assert_eq!(unit.from_si(unit.to_si(a)).is_nan(), a.is_nan());
        }
        // A number in a text, as somebody may write it.
        for text in [
            format!("{a}"),
            format!("{a:e} m"),
            format!("{a} ft"),
            format!("{a} %"),
            format!("1 in {a}"),
            format!("{a} deg"),
            format!("{a} 1/2 in"),
        ] {
            typed("parse_length", &text, &units::parse_length(&text));
            typed("parse_slope", &text, &units::parse_slope(&text));
            typed("parse_tilt", &text, &units::parse_tilt(&text));
            typed("parse_angle", &text, &units::parse_angle(&text));
            typed("parse_station", &text, &units::parse_station(&text));
            typed("parse_volume", &text, &units::parse_volume(&text));
            typed("parse_flow", &text, &units::parse_flow(&text));
            typed("parse_velocity", &text, &units::parse_velocity(&text));
            typed("parse_pressure", &text, &units::parse_pressure(&text));
            typed("parse_viscosity", &text, &units::parse_viscosity(&text));
        }
        for unit in [SizeUnit::Inch, SizeUnit::Dn] {
            for row in &book.rows {
                let nominal = Nominal { size: a, unit };
                let limits =
                    [&row.min_slope, &row.max_slope].map(|l| l.as_ref().and_then(|limit| limit.at(Some(nominal))));
                assert!(limits.iter().flatten().all(|limit| !limit.is_nan() || a.is_nan()), "{nominal:?}: {limits:?}");
            }
        }
        let _ = (
            Bend::new(a, b),
            Dig::new(a),
            Place::new(a),
            Place::exact(a),
            Nominal::inches(a),
            Nominal::dn(b),
            chain::default_penalty(usize::MAX),
        );
    }
    no_complaints();
}

/// Functions that take numbers and are tried elsewhere, with the file of this folder that does.
const ELSEWHERE: [(&str, &str); 1] = [("from_draws", "hostile_jobs.rs")];

/// Public functions of the core whose signature has a number in it, by name.
fn functions_with_numbers() -> BTreeSet<String> {
    fn sources(folder: &FilePath, files: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                sources(&path, files);
            } else if path.extension().is_some_and(|end| end == "rs") && !path.to_string_lossy().ends_with("_tests.rs")
            {
                files.push(path);
            }
        }
    }
    let mut files = Vec::new();
    sources(&FilePath::new(env!("CARGO_MANIFEST_DIR")).join("../crates/fallwise/src"), &mut files);
    let mut names = BTreeSet::new();
    for file in files {
        let text = fs::read_to_string(file).unwrap();
        for part in text.split("pub fn ").skip(1).chain(text.split("pub const fn ").skip(1)) {
            let Some((name, rest)) = part.split_once(['(', '<']) else { continue };
            let signature = rest.split(" {").next().unwrap_or_default();
            let arguments = signature.split("->").next().unwrap_or_default();
            let takes = [
                "f64",
                "Point",
                "Bore",
                "Friction",
                "Discharge",
                "Nominal",
                "V)",
                "Node",
                "Line<",
                "LiveReading",
                "Truth",
            ];
            if takes.iter().any(|word| arguments.contains(word)) {
                names.insert(name.to_owned());
            }
        }
    }
    names
}

#[test]
fn every_function_is_asked() {
    let folder = FilePath::new(env!("CARGO_MANIFEST_DIR"));
    let read = |file: &str| fs::read_to_string(folder.join(file)).unwrap();
    let here = read("any_numbers.rs");
    let names = functions_with_numbers();
    assert!(names.len() > 150, "{}", names.len()); // the sources were found and read
    let mut missing = Vec::new();
    for name in &names {
        let called = |text: &str| text.split(name.as_str()).skip(1).any(|rest| rest.starts_with(['(', ',', ')']));
        let elsewhere = ELSEWHERE.iter().find(|(listed, _)| listed == name);
        if !called(&here) && !elsewhere.is_some_and(|(_, file)| called(&read(file))) {
            missing.push(name);
        }
    }
    assert!(missing.is_empty(), "{missing:?}");
}
