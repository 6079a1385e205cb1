//! The path on a map: GeoJSON (RFC 7946), where the plan is determined and the job says where on the earth its axes lie.
//!
//! Longitude, then latitude, WGS 84, degrees; no `crs` (RFC 7946, 4) and no third number, since the datum of the job's elevations
//! is not known: they are properties. Eight decimals of a degree are 1.1 mm, lengths have three: no more than a millimetre needs
//! (our choice). The pipe is a `LineString` (`MultiLineString` where a stretch of it is not determined, or where it crosses the
//! antimeridian: RFC 7946, 3.1.9), everything else a `Point`. Standard deviations are along the job's own east and north, without
//! that of the origin, which moves everything alike and stands at the top.
//!
//! The cautions that go with every output are a foreign member at the top (RFC 7946, 6.1).

use fallwise::{Answers, answers::PathRow, geographic, model::Origin, units::to_deg};
use geojson::{Feature, FeatureCollection, Geometry, GeometryValue, JsonObject, JsonValue, Position};
use serde_json::json;

use crate::{
    drawn::{Mark, Spot, marks, plan_lines, spot},
    error::FileError,
    output::sorted_json,
};

/// The name under which it is written.
pub const FILE: &str = "path.geojson";
const HONESTY: &str =
    "Intervals are two-sided 95 % intervals. They hold if the stated error sources are the only ones.";

/// The path and what lies on it; nothing where the job has no origin, the plan is not determined, or a point of it lies too far
/// from the origin (of which the answers warn). The same answers give the same bytes.
///
/// # Errors
/// A number that is not finite, which JSON cannot say.
pub fn geojson(answers: &Answers) -> Result<Option<String>, FileError> {
    match answers.job.origin.as_ref().and_then(|origin| collection(answers, origin)) {
        Some(collection) => sorted_json(&collection, FILE).map(Some),
        None => Ok(None),
    }
}

fn collection(answers: &Answers, origin: &Origin) -> Option<FeatureCollection> {
    let lines = plan_lines(&answers.path);
    let lines: Option<Vec<Vec<[f64; 2]>>> =
        lines.iter().map(|line| line.iter().map(|p| degrees(origin, *p)).collect()).collect();
    let lines: Vec<Vec<[f64; 2]>> = lines?.into_iter().flat_map(cut).collect();
    let mut lines = lines.into_iter().map(|line| line.into_iter().map(Position::from).collect::<Vec<_>>());
    let shape = match (lines.next()?, lines.collect::<Vec<_>>()) {
        (only, rest) if rest.is_empty() => GeometryValue::LineString { coordinates: only },
        (first, rest) => GeometryValue::MultiLineString { coordinates: core::iter::once(first).chain(rest).collect() },
    };
    let mut features = vec![feature(shape, pipe(answers))];
    for mark in marks(answers) {
        let Some(on_pipe) = spot(&answers.path, mark.station_m) else { continue };
        let Some(place) = mark.plan_m.or(on_pipe.plan_m) else { continue };
        let point = GeometryValue::Point { coordinates: Position::from(degrees(origin, place)?) };
        features.push(feature(point, properties(&mark, &on_pipe, place)));
    }
    for landmark in &answers.job.landmarks {
        // One in other coordinates has no place here; the answers warn of it.
        let Some(place) = degrees(origin, [landmark.east_m, landmark.north_m]) else { continue };
        let sd = metres(landmark.sd_m);
        let told = members([
            ("kind", json!("landmark")),
            ("name", json!(landmark.name)),
            ("east_m", metres(landmark.east_m)),
            ("east_sd_m", sd.clone()),
            ("north_m", metres(landmark.north_m)),
            ("north_sd_m", sd),
        ]);
        features.push(feature(GeometryValue::Point { coordinates: Position::from(place) }, told));
    }
    Some(FeatureCollection { bbox: None, features, foreign_members: Some(top(answers, origin)) })
}

fn feature(shape: GeometryValue, properties: JsonObject) -> Feature {
    Feature {
        bbox: None,
        geometry: Some(Geometry::new(shape)),
        id: None,
        properties: Some(properties),
        foreign_members: None,
    }
}

/// Longitude and latitude in degrees, to eight decimals.
fn degrees(origin: &Origin, [east_m, north_m]: [f64; 2]) -> Option<[f64; 2]> {
    let place = geographic::place(origin, east_m, north_m).ok()?;
    Some([place.longitude_rad, place.latitude_rad].map(|rad| rounded(to_deg(rad), 1e8)))
}

/// A number to so many parts of one, a zero without a sign.
fn rounded(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts + 0.0
}

/// A line cut where it crosses the antimeridian, which no map draws across.
fn cut(line: Vec<[f64; 2]>) -> Vec<Vec<[f64; 2]>> {
    let mut cut = vec![Vec::new()];
    let mut before: Option<[f64; 2]> = None;
    for point in line {
        if let Some(last) = before.filter(|last| (last[0] - point[0]).abs() > 180.0) {
            let side = if last[0] < 0.0 { -180.0 } else { 180.0 };
            let (to_line, beyond) = (side - last[0], point[0] + side);
            let whole = to_line + beyond;
            let passed = if whole == 0.0 { 0.0 } else { to_line / whole };
            let latitude = rounded(last[1] + passed * (point[1] - last[1]), 1e8);
            if let Some(part) = cut.last_mut() {
                part.push([side, latitude]);
            }
            cut.push(vec![[-side, latitude]]);
        }
        if let Some(part) = cut.last_mut() {
            part.push(point);
        }
        before = Some(point);
    }
    cut
}

/// Metres to the millimetre.
fn metres(value: f64) -> JsonValue {
    json!(rounded(value, 1e3))
}

fn maybe(value: Option<f64>) -> JsonValue {
    value.map_or(JsonValue::Null, metres)
}

fn pipe(answers: &Answers) -> JsonObject {
    let largest = |sd: fn(&PathRow) -> Option<f64>| answers.path.iter().filter_map(sd).reduce(f64::max);
    members([
        ("kind", json!("pipe")),
        ("name", json!(answers.job.survey.title)),
        ("station_m", metres(answers.from_m)),
        ("to_m", metres(answers.to_m)),
        ("length_m", metres(answers.total.length_m)),
        ("length_sd_m", metres(answers.total.length_sd_m)),
        ("greatest_east_sd_m", maybe(largest(|row| row.east_sd_m))),
        ("greatest_north_sd_m", maybe(largest(|row| row.north_sd_m))),
        ("text", json!(answers.sentence)),
    ])
}

/// Figures of the place; of a position that was measured, east and north as measured.
fn properties(mark: &Mark, at: &Spot, [east_m, north_m]: [f64; 2]) -> JsonObject {
    let sd = mark.plan_sd_m.map(|sd| [sd, sd]).or(at.plan_sd_m);
    members([
        ("kind", json!(mark.kind)),
        ("name", json!(mark.what)),
        ("text", json!(mark.text)),
        ("station_m", metres(mark.station_m)),
        ("to_m", maybe(mark.to_m)),
        ("east_m", metres(east_m)),
        ("east_sd_m", maybe(sd.map(|sd| sd[0]))),
        ("north_m", metres(north_m)),
        ("north_sd_m", maybe(sd.map(|sd| sd[1]))),
        ("height_m", metres(at.height_m)),
        ("height_sd_m", metres(at.height_sd_m)),
        ("elevation_m", maybe(at.elevation_m)),
        ("elevation_sd_m", maybe(at.elevation_sd_m)),
    ])
}

fn top(answers: &Answers, origin: &Origin) -> JsonObject {
    members([
        ("cautions", json!(answers.cautions)),
        ("not_covered", json!(answers.not_covered)),
        ("intervals", json!(HONESTY)),
        ("invented", json!(answers.job.survey.invented)),
        ("origin_sd_m", maybe(origin.sd_m)),
        ("grid_north_rad", json!(origin.grid_north_rad)),
        ("made_by", json!(format!("fallwise {}", answers.version))),
    ])
}

fn members<const N: usize>(members: [(&str, JsonValue); N]) -> JsonObject {
    members.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_cut_at_the_antimeridian() {
        let parts = cut(vec![[179.9, 10.0], [179.98, 10.0], [-179.98, 10.4], [-179.9, 10.5]]);
        assert_eq!(
            parts,
            [vec![[179.9, 10.0], [179.98, 10.0], [180.0, 10.2]], vec![[-180.0, 10.2], [-179.98, 10.4], [-179.9, 10.5]]]
        );
        assert_eq!(cut(vec![[-0.1, 0.0], [0.1, 0.0]]).len(), 1);
    }
}
