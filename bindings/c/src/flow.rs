//! Hydraulics by itself: uniform flow in a partly full pipe.

use core::ffi::c_char;

use fallwise::hydraulics::{
    self, Friction, State, Uniform, critical_depth_m, diameter_for_flow_m, froude, self_cleansing, shear_pa,
    slope_for_flow, slope_for_shear, slope_for_shear_of_flow, slope_for_velocity_of_flow,
};

use crate::{
    border::{Out, OutStruct, Sized1, bad_value, bore, call, finite, init, options, or_nan, some_array, some_text},
    error::{Failure, fw_error},
    status::fw_status,
};

/// A law of friction.
#[repr(u32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_friction {
    /// Manning; `roughness` is his n, s/m^(1/3).
    FW_MANNING = 0,
    /// Colebrook and White; `roughness` is that of the wall, m.
    FW_COLEBROOK_WHITE = 1,
}

/// A pipe in uniform flow. Call fw_pipe_flow_init first.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_pipe_flow {
    /// `sizeof(fw_pipe_flow)`.
    pub struct_size: usize,
    /// Width of the bore, m.
    pub width_m: f64,
    /// Height of the bore, m; NaN: round.
    pub height_m: f64,
    /// Slope, fall over horizontal length, positive along the flow.
    pub slope: f64,
    /// By the law: Manning's n, or roughness, m.
    pub roughness: f64,
    /// Kinematic viscosity, m2/s, for Colebrook and White.
    pub viscosity_m2_s: f64,
    /// fw_friction.
    pub friction: u32,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_pipe_flow {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

impl fw_pipe_flow {
    fn new() -> Self {
        Self {
            struct_size: size_of::<Self>(),
            width_m: f64::NAN,
            height_m: f64::NAN,
            slope: f64::NAN,
            roughness: hydraulics::EN_12056_ROUGHNESS_M,
            viscosity_m2_s: hydraulics::EN_12056_VISCOSITY_M2_S,
            friction: fw_friction::FW_COLEBROOK_WHITE as u32,
        }
    }

    fn friction(&self) -> Result<Friction, Failure> {
        match self.friction {
            0 => Ok(Friction::Manning { n: self.roughness }),
            1 => Ok(Friction::ColebrookWhite { roughness_m: self.roughness, viscosity_m2_s: self.viscosity_m2_s }),
            other => Err(bad_value("pipe.friction", other, "0 (Manning) or 1 (Colebrook and White)")),
        }
    }

    fn uniform(&self) -> Result<Uniform, Failure> {
        Ok(Uniform::new(bore(self.width_m, self.height_m)?, self.slope, self.friction()?)?)
    }
}

/// # Safety
/// The caller's, by the contract of the header.
unsafe fn pipe(pointer: *const fw_pipe_flow) -> Result<fw_pipe_flow, Failure> {
    // SAFETY: the same contract.
    unsafe { options(pointer, fw_pipe_flow::new(), "pipe") }
}

/// Sets all of it: Colebrook and White with the roughness and viscosity of EN 12056-2; bore and slope NaN, to be set.
///
/// `struct_size` is `sizeof(fw_pipe_flow)`, which is written too.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_pipe_flow_init(
    pipe: *mut fw_pipe_flow,
    struct_size: usize,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: a place of the caller's of that size, by the contract of the header.
    call(error, || unsafe { init(pipe, struct_size, fw_pipe_flow::new(), "pipe") })
}

/// What the pipe carries with water so deep, m: flow, m3/s, mean velocity, m/s, and mean boundary shear, Pa.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_at_depth(
    pipe_given: *const fw_pipe_flow,
    depth_m: f64,
    flow_m3_s: *mut f64,
    velocity_m_s: *mut f64,
    shear_pa_out: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's struct and places, by the contract of the header.
        let (asked, flow, velocity, shear) = unsafe {
            (
                pipe(pipe_given)?,
                Out::new(flow_m3_s, "flow_m3_s")?,
                Out::new(velocity_m_s, "velocity_m_s")?,
                Out::new(shear_pa_out, "shear_pa_out")?,
            )
        };
        let (pipe, depth_m) = (asked.uniform()?, finite(depth_m, "depth_m")?);
        flow.put(pipe.flow_m3_s(depth_m));
        velocity.put(pipe.velocity_m_s(depth_m));
        shear.put(shear_pa(&pipe, depth_m));
        Ok(())
    })
}

/// How a flow stands in a pipe.
#[repr(i32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_flow_state {
    /// There is one depth.
    FW_FLOW_ONE_DEPTH = 0,
    /// There are two, near full.
    FW_FLOW_TWO_DEPTHS = 1,
    /// The pipe cannot carry it.
    FW_FLOW_ABOVE_CAPACITY = 2,
    /// There is no fall.
    FW_FLOW_NO_FALL = 3,
    /// The pipe runs backwards.
    FW_FLOW_BACKFALL = 4,
}

/// The depth of uniform flow.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_normal_depth {
    /// `sizeof(fw_normal_depth)`, set by the caller.
    pub struct_size: usize,
    /// The depth, m, the lower of two; NaN: there is none.
    pub depth_m: f64,
    /// The upper of two, m; NaN: there is none.
    pub upper_depth_m: f64,
    /// Relative error of the depth over that of the flow; NaN: there is none.
    pub condition: f64,
    /// fw_flow_state.
    pub state: i32,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_normal_depth {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// The depth of uniform flow of `flow_m3_s`. Set `out->struct_size` first.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_normal_depth(
    pipe_given: *const fw_pipe_flow,
    flow_m3_s: f64,
    out: *mut fw_normal_depth,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's structs, by the contract of the header.
        let (asked, out) = unsafe { (pipe(pipe_given)?, OutStruct::new(out, "out")?) };
        let found = asked.uniform()?.normal_depth(flow_m3_s)?;
        let state = match found.state {
            State::One => fw_flow_state::FW_FLOW_ONE_DEPTH,
            State::Two => fw_flow_state::FW_FLOW_TWO_DEPTHS,
            State::AboveCapacity => fw_flow_state::FW_FLOW_ABOVE_CAPACITY,
            State::NoFall => fw_flow_state::FW_FLOW_NO_FALL,
            State::Backfall => fw_flow_state::FW_FLOW_BACKFALL,
        };
        out.put(fw_normal_depth {
            struct_size: 0,
            depth_m: or_nan(found.depth_m),
            upper_depth_m: or_nan(found.upper_depth_m),
            condition: or_nan(found.condition),
            state: state as i32,
        });
        Ok(())
    })
}

/// The most that the pipe carries, m3/s, at which depth, m, and what it carries full, m3/s.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_most(
    pipe_given: *const fw_pipe_flow,
    flow_m3_s: *mut f64,
    depth_m: *mut f64,
    full_m3_s: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's struct and places, by the contract of the header.
        let (asked, flow, depth, full) = unsafe {
            (
                pipe(pipe_given)?,
                Out::new(flow_m3_s, "flow_m3_s")?,
                Out::new(depth_m, "depth_m")?,
                Out::new(full_m3_s, "full_m3_s")?,
            )
        };
        let most = asked.uniform()?.most();
        flow.put(most.flow_m3_s);
        depth.put(most.depth_m);
        full.put(most.full_m3_s);
        Ok(())
    })
}

/// Critical depth, m, of a flow, m3/s; the bore as in fw_section.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_critical_depth(
    width_m: f64,
    height_m: f64,
    flow_m3_s: f64,
    depth_m: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(depth_m, "depth_m") }?;
        out.put(critical_depth_m(bore(width_m, height_m)?, flow_m3_s)?);
        Ok(())
    })
}

/// Froude number of a flow, m3/s, at a depth, m; the bore as in fw_section.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_froude(
    width_m: f64,
    height_m: f64,
    depth_m: f64,
    flow_m3_s: f64,
    number: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(number, "number") }?;
        out.put(froude(bore(width_m, height_m)?, depth_m, flow_m3_s)?);
        Ok(())
    })
}

/// What fw_hydraulics_slope_for finds the slope for.
#[repr(u32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_slope_for {
    /// For `flow_m3_s` at a depth: `value` is the depth, m.
    FW_SLOPE_FOR_DEPTH = 0,
    /// For a velocity of `flow_m3_s`: `value` is the velocity, m/s.
    FW_SLOPE_FOR_VELOCITY = 1,
    /// For a mean boundary shear of `flow_m3_s`: `value` is the shear, Pa.
    FW_SLOPE_FOR_SHEAR = 2,
}

/// The slope that a flow, m3/s, needs for a depth, velocity or shear; the slope of `pipe_given` is not used.
///
/// `what` is fw_slope_for. Fails with FW_NOT_DETERMINED where no slope does.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_slope_for(
    pipe_given: *const fw_pipe_flow,
    what: u32,
    value: f64,
    flow_m3_s: f64,
    slope: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's struct and place, by the contract of the header.
        let (asked, out) = unsafe { (pipe(pipe_given)?, Out::new(slope, "slope")?) };
        let (bore, friction) = (bore(asked.width_m, asked.height_m)?, asked.friction()?);
        let found = match what {
            0 => slope_for_flow(bore, friction, value, flow_m3_s)?,
            1 => slope_for_velocity_of_flow(bore, friction, flow_m3_s, value)?,
            2 => slope_for_shear_of_flow(bore, friction, flow_m3_s, value)?,
            other => return Err(bad_value("what", other, "a number of fw_slope_for")),
        };
        out.put(found.ok_or_else(|| none("slope"))?);
        Ok(())
    })
}

/// The slope at which water so deep, m, has a mean boundary shear, Pa; the bore as in fw_section.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_slope_for_shear(
    width_m: f64,
    height_m: f64,
    depth_m: f64,
    shear: f64,
    slope: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(slope, "slope") }?;
        out.put(slope_for_shear(bore(width_m, height_m)?, depth_m, shear)?);
        Ok(())
    })
}

/// The diameter, m, of the round pipe that carries a flow, m3/s, on the slope of `pipe_given` when filled to a share of
/// its bore, 0 to 1; the bore of `pipe_given` is not used.
///
/// Fails with FW_NOT_DETERMINED where none does.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_diameter_for(
    pipe_given: *const fw_pipe_flow,
    flow_m3_s: f64,
    filling: f64,
    diameter_m: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's struct and place, by the contract of the header.
        let (asked, out) = unsafe { (pipe(pipe_given)?, Out::new(diameter_m, "diameter_m")?) };
        let found = diameter_for_flow_m(asked.slope, asked.friction()?, flow_m3_s, filling)?;
        out.put(found.ok_or_else(|| none("diameter"))?);
        Ok(())
    })
}

/// Whether a flow, m3/s, keeps the pipe clean: 1 or 0 by a least velocity, m/s, and by a least mean boundary shear, Pa.
///
/// Fails with FW_NOT_DETERMINED where the flow has no depth.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_self_cleansing(
    pipe_given: *const fw_pipe_flow,
    flow_m3_s: f64,
    least_velocity_m_s: f64,
    least_shear_pa: f64,
    by_velocity: *mut i32,
    by_shear: *mut i32,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's struct and places, by the contract of the header.
        let (asked, velocity, shear) =
            unsafe { (pipe(pipe_given)?, Out::new(by_velocity, "by_velocity")?, Out::new(by_shear, "by_shear")?) };
        let found = self_cleansing(&asked.uniform()?, flow_m3_s, least_velocity_m_s, least_shear_pa)?;
        let found = found.ok_or_else(|| none("depth"))?;
        velocity.put(i32::from(found.by_velocity));
        shear.put(i32::from(found.by_shear));
        Ok(())
    })
}

/// Critical mean boundary shear, Pa, for a grain of a size, m.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_critical_shear(
    grain_m: f64,
    shear: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(shear, "shear") }?;
        out.put(hydraulics::critical_shear_pa(grain_m)?);
        Ok(())
    })
}

/// Kinematic viscosity of water, m2/s, at a temperature, degrees Celsius.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_viscosity(
    temperature_c: f64,
    viscosity_m2_s: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(viscosity_m2_s, "viscosity_m2_s") }?;
        out.put(hydraulics::water_viscosity_m2_s(temperature_c)?);
        Ok(())
    })
}

/// Design flow, m3/s, of waste water (EN 12056-2) from `count` discharge units, l/s, and how often appliances are used:
/// "intermittent", "frequent", "congested" or "special".
///
/// Fails with FW_JSON for a use that is not known.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_waste_water_flow(
    units_l_s: *const f64,
    count: usize,
    used: *const c_char,
    used_length: usize,
    flow_m3_s: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's array, text and place, by the contract of the header.
        let (units, used, out) = unsafe {
            (
                some_array(units_l_s, count, "units_l_s")?,
                some_text(used, used_length, "used")?,
                Out::new(flow_m3_s, "flow_m3_s")?,
            )
        };
        let used =
            serde_json::from_value(serde_json::Value::from(used)).map_err(|e| Failure::from(e).within("used"))?;
        out.put(hydraulics::waste_water_flow_m3_s(units, used)?);
        Ok(())
    })
}

/// The discharge unit of an appliance, l/s, and that of a larger one of its kind, in a system of EN 12056-2 ("I" to
/// "IV" as the job has it).
///
/// Fails with FW_UNKNOWN_WORD for an appliance and FW_JSON for a system that is not known.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_discharge_unit(
    name: *const c_char,
    name_length: usize,
    system: *const c_char,
    system_length: usize,
    low_l_s: *mut f64,
    high_l_s: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's texts and places, by the contract of the header.
        let (name, system, low, high) = unsafe {
            (
                some_text(name, name_length, "name")?,
                some_text(system, system_length, "system")?,
                Out::new(low_l_s, "low_l_s")?,
                Out::new(high_l_s, "high_l_s")?,
            )
        };
        let system =
            serde_json::from_value(serde_json::Value::from(system)).map_err(|e| Failure::from(e).within("system"))?;
        let (low_value, high_value) = hydraulics::discharge_unit_l_s(name, system)?;
        low.put(low_value);
        high.put(high_value);
        Ok(())
    })
}

fn none(what: &str) -> Failure {
    Failure::new(fw_status::FW_NOT_DETERMINED, what, format!("there is no such {what}"))
}
