//! Geometry by itself: bores, paths, pools of a profile, segments of readings, places on the earth.

use fallwise::{
    Bore, Chain,
    chain::{FitOptions, Loss},
    geographic,
    model::Origin,
    path,
    pool::Pool,
};

use crate::{
    border::{
        Out, Sized1, array, array_out, bad_value, bore, call, fill, finite, hand_out, init, options, room, some_array,
        unless_nan,
    },
    error::{Failure, fw_error},
    status::fw_status,
    table::fw_table,
};

/// What fw_section gives.
#[repr(u32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_section_of {
    /// Area of the water, m2.
    FW_SECTION_AREA_M2 = 0,
    /// Integral of the area over depth, m3: the volume of a wedge of slope 1.
    FW_SECTION_ANTIDERIVATIVE_M3 = 1,
    /// Wetted perimeter, m.
    FW_SECTION_WETTED_PERIMETER_M = 2,
    /// Width of the surface, m.
    FW_SECTION_TOP_WIDTH_M = 3,
    /// Area over wetted perimeter, m.
    FW_SECTION_HYDRAULIC_RADIUS_M = 4,
}

/// A figure of a bore with water in it, for each of `count` depths, m, into `out`, which has as many places.
///
/// `width_m` and `height_m` of the bore, m; NaN for the height: round. `of` is fw_section_of. Fails with FW_INPUT for a
/// bore that cannot be, with FW_BAD_VALUE for a depth that is not finite, its index in `row`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_section(
    width_m: f64,
    height_m: f64,
    of: u32,
    depth_m: *const f64,
    count: usize,
    out: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's array, by the contract of the header.
        let depths = unsafe { some_array(depth_m, count, "depth_m") }?;
        // SAFETY: only looked at, before the work begins.
        unsafe { Out::new(out, "out") }?;
        let bore = bore(width_m, height_m)?;
        let figure: fn(&Bore, f64) -> f64 = match of {
            0 => Bore::area_m2,
            1 => Bore::antiderivative_m3,
            2 => Bore::wetted_perimeter_m,
            3 => Bore::top_width_m,
            4 => Bore::hydraulic_radius_m,
            other => return Err(bad_value("of", other, "a number of fw_section_of")),
        };
        let each = |(i, depth): (usize, &f64)| Ok(figure(&bore, finite(*depth, "depth_m").map_err(|e| e.row(i))?));
        let values = depths.iter().enumerate().map(each).collect::<Result<Vec<_>, Failure>>()?;
        // SAFETY: room for them is the contract of this function.
        unsafe { fill(&values, out, "out") }
    })
}

/// The depth, m, at which the water has an area, m2, for each of `count` areas, into `out`; the bore as in fw_section.
///
/// Fails with FW_INPUT for an area below 0 or above that of the bore.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_section_depth_for_area(
    width_m: f64,
    height_m: f64,
    area_m2: *const f64,
    count: usize,
    out: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's array, by the contract of the header.
        let areas = unsafe { some_array(area_m2, count, "area_m2") }?;
        // SAFETY: only looked at, before the work begins.
        unsafe { Out::new(out, "out") }?;
        let bore = bore(width_m, height_m)?;
        let each = |(i, area): (usize, &f64)| bore.depth_for_area_m(*area).map_err(|e| Failure::from(e).row(i));
        let values = areas.iter().enumerate().map(each).collect::<Result<Vec<_>, _>>()?;
        // SAFETY: room for them is the contract of this function.
        unsafe { fill(&values, out, "out") }
    })
}

/// Area of the full bore, m2; the bore as in fw_section.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_section_full_area(
    width_m: f64,
    height_m: f64,
    area_m2: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(area_m2, "area_m2") }?;
        out.put(bore(width_m, height_m)?.full_area_m2());
        Ok(())
    })
}

/// Mean area, m2, of a straight piece whose depths at its ends are these, m: its volume over its length. The bore as in
/// fw_section.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_section_mean_area(
    width_m: f64,
    height_m: f64,
    first_m: f64,
    second_m: f64,
    area_m2: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(area_m2, "area_m2") }?;
        let (first_m, second_m) = (finite(first_m, "first_m")?, finite(second_m, "second_m")?);
        out.put(bore(width_m, height_m)?.mean_area_m2(first_m, second_m));
        Ok(())
    })
}

/// A path by minimum curvature from `count` stations, m, tilts, rad, positive down, and azimuths, rad: three numbers
/// each (east, north, up, m, from the first station) into `xyz_m` of `3 * count` numbers.
///
/// Fails with FW_INPUT, the index in `row`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_minimum_curvature(
    station_m: *const f64,
    tilt_rad: *const f64,
    azimuth_rad: *const f64,
    count: usize,
    xyz_m: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's arrays, by the contract of the header.
        let (stations, tilts, azimuths) = unsafe {
            (
                some_array(station_m, count, "station_m")?,
                some_array(tilt_rad, count, "tilt_rad")?,
                some_array(azimuth_rad, count, "azimuth_rad")?,
            )
        };
        // SAFETY: only looked at, before the work begins.
        unsafe { Out::new(xyz_m, "xyz_m") }?;
        let points = path::minimum_curvature(stations, tilts, azimuths)?;
        // SAFETY: room for them is the contract of this function.
        unsafe { fill(points.as_flattened(), xyz_m, "xyz_m") }
    })
}

/// The angle between two directions of tilt and azimuth, rad.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_dogleg(
    first_tilt_rad: f64,
    first_azimuth_rad: f64,
    second_tilt_rad: f64,
    second_azimuth_rad: f64,
    angle_rad: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(angle_rad, "angle_rad") }?;
        out.put(path::dogleg(
            finite(first_tilt_rad, "first_tilt_rad")?,
            finite(first_azimuth_rad, "first_azimuth_rad")?,
            finite(second_tilt_rad, "second_tilt_rad")?,
            finite(second_azimuth_rad, "second_azimuth_rad")?,
        ));
        Ok(())
    })
}

/// The water that a line of straight pieces can hold: `count` stations, m along the pipe, and inverts, m.
///
/// `flow_decreasing` is 1 where the water flows towards falling station, else 0; `tailwater_m` is the water at the
/// outlet above its invert, NaN: a free outlet; the bore as in fw_section, NaN for both: not known. Gives a table of
/// pools as they are in the best estimate, without errors. `*table` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_pools(
    station_m: *const f64,
    invert_m: *const f64,
    count: usize,
    width_m: f64,
    height_m: f64,
    flow_decreasing: i32,
    tailwater_m: f64,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    /// A pool, as a row.
    #[derive(serde::Serialize, serde::Deserialize)]
    struct Row {
        sill_station_m: f64,
        level_m: f64,
        from_m: f64,
        to_m: f64,
        length_m: f64,
        deepest_station_m: f64,
        depth_m: f64,
        depth_over_bore: Option<f64>,
        full_bore_length_m: Option<f64>,
        volume_m3: Option<f64>,
        backwater_m3: Option<f64>,
        held_by_tailwater: bool,
        sill_is_last_point: bool,
        touches_upstream_end: bool,
    }
    call(error, || {
        // SAFETY: the caller's arrays and place, by the contract of the header.
        let (stations, inverts, out) = unsafe {
            (
                some_array(station_m, count, "station_m")?,
                some_array(invert_m, count, "invert_m")?,
                Out::new(table, "table")?,
            )
        };
        let pipe = crate::build::pipe(width_m, height_m)?;
        let flow = match flow_decreasing {
            0 => fallwise::Flow::Increasing,
            1 => fallwise::Flow::Decreasing,
            other => return Err(bad_value("flow_decreasing", other, "0 or 1")),
        };
        let tailwater_m = unless_nan(tailwater_m).map(|m| finite(m, "tailwater_m")).transpose()?;
        let lateral = fallwise::Lateral::from_inverts(stations, inverts, None, pipe.clone())?;
        let row = |p: Pool| Row {
            sill_station_m: p.sill_station_m,
            level_m: p.level_m,
            from_m: p.from_m,
            to_m: p.to_m,
            length_m: p.length_m,
            deepest_station_m: p.deepest_station_m,
            depth_m: p.depth_m,
            depth_over_bore: p.depth_over_bore,
            full_bore_length_m: p.full_bore_length_m,
            volume_m3: p.volume_m3,
            backwater_m3: p.backwater_m3,
            held_by_tailwater: p.held_by_tailwater,
            sill_is_last_point: p.sill_is_last_point,
            touches_upstream_end: p.touches_upstream_end,
        };
        let found = fallwise::pool::pools(lateral.profile(), &[pipe.bore], flow, tailwater_m);
        hand_out(out, fw_table::of(&found.into_iter().map(row).collect::<Vec<_>>())?);
        Ok(())
    })
}

/// How segments are found. Call fw_fit_options_init first.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_fit_options {
    /// `sizeof(fw_fit_options)`.
    pub struct_size: usize,
    /// Standard deviation of a reading, rad; NaN: estimated.
    pub noise_sd_rad: f64,
    /// What a break costs, in variances of a reading; NaN: what is usual for so many readings.
    pub penalty: f64,
    /// Errors larger than so many standard deviations count no further (biweight loss); NaN: squares.
    pub biweight_threshold_sds: f64,
    /// Fewest readings of a segment.
    pub least_readings: u64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_fit_options {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

impl fw_fit_options {
    fn new() -> Self {
        Self {
            struct_size: size_of::<Self>(),
            noise_sd_rad: f64::NAN,
            penalty: f64::NAN,
            biweight_threshold_sds: f64::NAN,
            least_readings: FitOptions::default().least_readings as u64,
        }
    }
}

/// Sets all of it: noise estimated, the usual penalty, squares.
///
/// `struct_size` is `sizeof(fw_fit_options)`, which is written too.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_fit_options_init(
    options: *mut fw_fit_options,
    struct_size: usize,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: a place of the caller's of that size, by the contract of the header.
    call(error, || unsafe { init(options, struct_size, fw_fit_options::new(), "options") })
}

/// Segments of constant tilt in `count` readings: stations, m, growing, and tilts, rad; `weight` may be NULL: all
/// alike.
///
/// `options` may be NULL. Breaks, m, into `breaks_m` and tilts, rad, into `segment_tilt_rad`, each of `capacity`
/// numbers; `*needed` becomes how many breaks there are, of which there is one more than segments. Both NULL with a
/// capacity of 0 only ask.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_fit_chain(
    station_m: *const f64,
    tilt_rad: *const f64,
    weight: *const f64,
    count: usize,
    options_given: *const fw_fit_options,
    breaks_m: *mut f64,
    segment_tilt_rad: *mut f64,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's arrays, by the contract of the header.
        let (stations, tilts) =
            unsafe { (some_array(station_m, count, "station_m")?, some_array(tilt_rad, count, "tilt_rad")?) };
        let asks = breaks_m.is_null() && segment_tilt_rad.is_null() && capacity == 0;
        // SAFETY: only looked at, before the work begins.
        unsafe { room(breaks_m, capacity, needed) }?;
        if !asks {
            // SAFETY: as above.
            unsafe { Out::new(segment_tilt_rad, "segment_tilt_rad") }?;
        }
        let ones;
        let weights = if weight.is_null() {
            ones = vec![1.0; count];
            ones.as_slice()
        } else {
            // SAFETY: as above.
            unsafe { array(weight, count, "weight") }?
        };
        let asked = if options_given.is_null() {
            fw_fit_options::new()
        } else {
            // SAFETY: the caller's struct, by the contract of the header.
            unsafe { options(options_given, fw_fit_options::new(), "options_given") }?
        };
        let options = FitOptions {
            loss: unless_nan(asked.biweight_threshold_sds)
                .map_or(Loss::Squares, |threshold_sds| Loss::Biweight { threshold_sds }),
            noise_sd: unless_nan(asked.noise_sd_rad),
            penalty: unless_nan(asked.penalty),
            least_readings: usize::try_from(asked.least_readings).unwrap_or(usize::MAX),
        };
        let (chain, _) = Chain::fitted(stations, tilts, weights, &[], &options)?;
        // SAFETY: the caller's buffers, by the contract of the header; the second only where the first was large enough.
        unsafe {
            array_out(&chain.breaks_m, breaks_m, capacity, needed)?;
            if !asks {
                fill(&chain.tilt_rad, segment_tilt_rad, "segment_tilt_rad")?;
            }
        }
        Ok(())
    })
}

/// The place on the earth (WGS 84) of local axes: longitude and latitude, rad, of a point east and north, m.
///
/// The origin: its longitude and latitude, rad, its own east and north, m, and by how much grid north lies clockwise of
/// true north, rad. Fails with FW_INPUT for what is too far away.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_geographic_place(
    origin_longitude_rad: f64,
    origin_latitude_rad: f64,
    origin_east_m: f64,
    origin_north_m: f64,
    grid_north_rad: f64,
    east_m: f64,
    north_m: f64,
    longitude_rad: *mut f64,
    latitude_rad: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's places, by the contract of the header.
        let (longitude, latitude) =
            unsafe { (Out::new(longitude_rad, "longitude_rad")?, Out::new(latitude_rad, "latitude_rad")?) };
        let origin = Origin {
            longitude_rad: origin_longitude_rad,
            latitude_rad: origin_latitude_rad,
            east_m: origin_east_m,
            north_m: origin_north_m,
            grid_north_rad,
            sd_m: None,
        };
        let place = geographic::place(&origin, east_m, north_m)?;
        longitude.put(place.longitude_rad);
        latitude.put(place.latitude_rad);
        Ok(())
    })
}
