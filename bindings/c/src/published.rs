//! Published tables of hydraulics, and the drains that plumbing codes of the United States allow.

use fallwise::{
    hydraulics::{self, PlumbingCode},
    model::Nominal,
};

use crate::{
    border::{Out, bad_value, call, finite, hand_out, or_nan, yes_no},
    error::{Failure, fw_error},
    status::fw_status,
    table::fw_table,
};

/// A published table.
#[repr(u32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_published {
    /// Roughness of pipes: Manning's n, s/m^(1/3), and that of Colebrook and White, m.
    FW_PUBLISHED_ROUGHNESS = 0,
    /// Drainage fixture units of fixtures.
    FW_PUBLISHED_FIXTURE_UNITS = 1,
    /// The most drainage fixture units of a drain by size and slope.
    FW_PUBLISHED_DRAIN_UNITS = 2,
}

/// A plumbing code of the United States.
#[repr(u32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_plumbing_code {
    /// International Plumbing Code.
    FW_IPC = 0,
    /// Uniform Plumbing Code.
    FW_UPC = 1,
}

fn code(number: u32) -> Result<PlumbingCode, Failure> {
    match number {
        0 => Ok(PlumbingCode::Ipc),
        1 => Ok(PlumbingCode::Upc),
        other => Err(bad_value("code", other, "a number of fw_plumbing_code")),
    }
}

/// A published table, each row with its document and how sure it is (`source`, `mark`). Nothing is taken from it by itself: it is for whoever chooses a
/// roughness or counts fixtures. The code as adopted locally governs.
///
/// `which` is fw_published. `*table` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_published(
    which: u32,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    /// A row of roughness.
    #[derive(serde::Serialize, serde::Deserialize)]
    struct Roughness {
        material: String,
        condition: String,
        formula: String,
        low: Option<f64>,
        usual: Option<f64>,
        high: Option<f64>,
        source: String,
        mark: String,
    }
    /// A row of fixtures.
    #[derive(serde::Serialize, serde::Deserialize)]
    struct OfFixture {
        fixture: String,
        code: String,
        units: f64,
        source: String,
        mark: String,
    }
    /// A row of drains.
    #[derive(serde::Serialize, serde::Deserialize)]
    struct Drain {
        code: String,
        nominal_in: f64,
        slope: f64,
        most_units: u32,
        source: String,
        mark: String,
    }
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(table, "table") }?;
        let made = match which {
            0 => {
                let row = |r: &hydraulics::Roughness| Roughness {
                    material: r.material.to_owned(),
                    condition: r.condition.to_owned(),
                    formula: r.formula.as_str().to_owned(),
                    low: r.low,
                    usual: r.usual,
                    high: r.high,
                    source: r.source.to_owned(),
                    mark: r.mark.to_owned(),
                };
                fw_table::of(&hydraulics::roughnesses().iter().map(row).collect::<Vec<_>>())?
            }
            1 => {
                let row = |r: &hydraulics::FixtureUnits| OfFixture {
                    fixture: r.fixture.to_owned(),
                    code: r.code.as_str().to_owned(),
                    units: r.units,
                    source: r.source.to_owned(),
                    mark: r.mark.to_owned(),
                };
                fw_table::of(&hydraulics::fixture_units().iter().map(row).collect::<Vec<_>>())?
            }
            2 => {
                let row = |r: &hydraulics::DrainUnits| Drain {
                    code: r.code.as_str().to_owned(),
                    nominal_in: r.nominal.size,
                    slope: r.slope,
                    most_units: r.most_units,
                    source: r.source.to_owned(),
                    mark: r.mark.to_owned(),
                };
                fw_table::of(&hydraulics::drain_units().iter().map(row).collect::<Vec<_>>())?
            }
            other => return Err(bad_value("which", other, "a number of fw_published")),
        };
        hand_out(out, made);
        Ok(())
    })
}

/// The most drainage fixture units that a code (fw_plumbing_code) allows a drain of a nominal size, inches, at a slope, a ratio (1/4 in/ft is 1/48, which is
/// not 2 %); NaN where its table has none.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_most_fixture_units(
    nominal_in: f64,
    slope: f64,
    code: u32,
    most_units: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(most_units, "most_units") }?;
        let size = Nominal::inches(finite(nominal_in, "nominal_in")?);
        let most = hydraulics::most_fixture_units(size, finite(slope, "slope")?, self::code(code)?)?;
        out.put(or_nan(most.map(f64::from)));
        Ok(())
    })
}

/// The smallest nominal size, inches, that a code (fw_plumbing_code) allows for so many drainage fixture units at a slope, a ratio; NaN where no size of its
/// table will do. `serves_wc` is 1 where a water closet discharges into it, which takes 3 in at least, and 0 where none does.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_hydraulics_drain_for_fixture_units(
    units: f64,
    slope: f64,
    serves_wc: i32,
    code: u32,
    nominal_in: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(nominal_in, "nominal_in") }?;
        let serves_wc = yes_no(serves_wc, "serves_wc")?;
        let size = hydraulics::drain_for_fixture_units(
            finite(units, "units")?,
            finite(slope, "slope")?,
            serves_wc,
            self::code(code)?,
        )?;
        out.put(or_nan(size.map(|size| size.size)));
        Ok(())
    })
}
