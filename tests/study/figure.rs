//! The figures as SVG, in black and grey, told apart by markers and dashes; text stays text.

use plotters::{
    coord::Shift,
    element::DashedPathElement,
    prelude::*,
    style::text_anchor::{HPos, Pos, VPos},
};

use crate::{
    Error,
    belly::{DEPTHS_MM, GRADES, LENGTHS_M, Power, ZEROS},
    markdown,
    row::{Level, Quantity, Row},
};

type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;

const GREY: RGBColor = RGBColor(110, 110, 110);
const BAND: RGBColor = RGBColor(225, 225, 225);
const FONT: &str = "sans-serif";
const TEXT_PX: i32 = 12;

/// What a point looks like.
#[derive(Debug, Clone, Copy)]
enum Marker {
    Disc,
    Ring,
    Triangle,
    Cross,
    Plus,
}

impl Marker {
    /// Draws it in the pixels of an area.
    fn draw(self, area: &Area<'_>, at: (i32, i32)) -> Result<(), Error> {
        match self {
            Self::Disc => area.draw(&Circle::new(at, 4, BLACK.filled()))?,
            Self::Ring => area.draw(&Circle::new(at, 4, BLACK.stroke_width(1)))?,
            Self::Triangle => area.draw(&TriangleMarker::new(at, 5, BLACK.filled()))?,
            Self::Cross => area.draw(&Cross::new(at, 4, BLACK.stroke_width(1)))?,
            Self::Plus => {
                line(area, (at.0 - 5, at.1), (at.0 + 5, at.1), BLACK)?;
                line(area, (at.0, at.1 - 5), (at.0, at.1 + 5), BLACK)?;
            }
        }
        Ok(())
    }
}

/// Quantities of the figure of coverage.
const SHOWN: [(Quantity, Marker); 4] = [
    (Quantity::FoundSegment, Marker::Disc),
    (Quantity::Stick, Marker::Ring),
    (Quantity::End, Marker::Triangle),
    (Quantity::PoolDepth, Marker::Cross),
];

/// Coverage at 95 % and at 50 % of the rows of a table, with bars of one standard error, over the bands that are asked for.
///
/// # Errors
/// Those of drawing.
pub fn coverage(rows: &[Row]) -> Result<String, Error> {
    const LABELS: i32 = 400;
    const PANEL: i32 = 360;
    const ROW: i32 = 18;
    const TOP: i32 = 60;
    const BOTTOM: i32 = 50;
    let height = i32::try_from(rows.len())? * ROW;
    let mut svg = String::new();
    {
        let size = (u32::try_from(LABELS + 2 * PANEL)?, u32::try_from(TOP + height + BOTTOM)?);
        let area = SVGBackend::with_string(&mut svg, size).into_drawing_area();
        area.fill(&WHITE)?;
        text(&area, "Coverage by class and source of error", (10, 18), HPos::Left, 16)?;
        for (i, (quantity, marker)) in SHOWN.iter().enumerate() {
            let x = 20 + 190 * i32::try_from(i)?;
            marker.draw(&area, (x, 42))?;
            text(&area, quantity.name(), (x + 12, 42), HPos::Left, TEXT_PX)?;
        }
        let panels = [(Level::Wide, (80.0, 100.0), (93.0, 97.0)), (Level::Half, (30.0, 70.0), (47.0, 53.0))];
        for (panel, (level, ends, band)) in panels.into_iter().enumerate() {
            let left = LABELS + PANEL * i32::try_from(panel)?;
            let x = |percent: f64| pixel(left + 10, left + PANEL - 20, ends, percent.clamp(ends.0, ends.1));
            area.draw(&Rectangle::new([(x(band.0), TOP), (x(band.1), TOP + height)], BAND.filled()))?;
            for tick in 0..=4 {
                let percent = ends.0 + 0.25 * f64::from(tick) * (ends.1 - ends.0);
                line(&area, (x(percent), TOP + height), (x(percent), TOP + height + 5), BLACK)?;
                text(&area, &format!("{percent:.0}"), (x(percent), TOP + height + 14), HPos::Center, TEXT_PX)?;
            }
            line(&area, (x(ends.0), TOP + height), (x(ends.1), TOP + height), BLACK)?;
            let title = format!("intervals of {}: share that holds the truth, %", level.name());
            text(&area, &title, (x(0.5 * (ends.0 + ends.1)), TOP + height + 34), HPos::Center, TEXT_PX)?;
            for (i, row) in rows.iter().enumerate() {
                let y = TOP + ROW * i32::try_from(i)? + ROW / 2;
                for (quantity, marker) in SHOWN {
                    let share = row.of(quantity).at(level);
                    if share.is_empty() {
                        continue;
                    }
                    let (mean, error) = (100.0 * share.mean(), 100.0 * share.error());
                    line(&area, (x(mean - error), y), (x(mean + error), y), GREY)?;
                    marker.draw(&area, (x(mean), y))?;
                }
            }
        }
        for (i, row) in rows.iter().enumerate() {
            let y = TOP + ROW * i32::try_from(i)? + ROW / 2;
            text(&area, &markdown::case(&row.case), (LABELS - 4, y), HPos::Right, TEXT_PX)?;
        }
        area.present()?;
    }
    Ok(svg)
}

/// Looks of the lines of the figure of power, one a length of belly: the marker, and lengths of dash and gap in pixels.
const LINES: [(Marker, Option<(i32, i32)>); 4] = [
    (Marker::Disc, None),
    (Marker::Triangle, Some((7, 4))),
    (Marker::Cross, Some((2, 3))),
    (Marker::Ring, Some((12, 3))),
];

/// Share of bellies found against their depth, one line a length, one panel a grade and knowledge of the zero; at depth 0
/// the share of straight pipes in which one is found.
///
/// # Errors
/// Those of drawing.
pub fn power(all: &[Power]) -> Result<String, Error> {
    const WIDTH: i32 = 330;
    const HEIGHT: i32 = 230;
    const TOP: i32 = 70;
    const LEFT: i32 = 40;
    let columns = i32::try_from(ZEROS.len())?;
    let lines = i32::try_from(GRADES.len())?;
    let greatest_mm = f64::from(DEPTHS_MM.iter().copied().max().unwrap_or(1));
    let mut svg = String::new();
    {
        let size = (u32::try_from(LEFT + columns * WIDTH)?, u32::try_from(TOP + lines * HEIGHT)?);
        let area = SVGBackend::with_string(&mut svg, size).into_drawing_area();
        area.fill(&WHITE)?;
        text(&area, "Bellies found in a pipe of 2 %, by depth and length", (10, 18), HPos::Left, 16)?;
        for (i, ((marker, dash), length_m)) in LINES.iter().zip(LENGTHS_M).enumerate() {
            let x = 20 + 150 * i32::try_from(i)?;
            path(&area, vec![(x, 46), (x + 36, 46)], *dash)?;
            marker.draw(&area, (x + 18, 46))?;
            text(&area, &format!("{length_m} m long"), (x + 44, 46), HPos::Left, TEXT_PX)?;
        }
        let x = 20 + 150 * i32::try_from(LINES.len())?;
        Marker::Plus.draw(&area, (x, 46))?;
        text(&area, "straight pipe: false alarms", (x + 12, 46), HPos::Left, TEXT_PX)?;
        for (i, power) in all.iter().enumerate() {
            let i = i32::try_from(i)?;
            let (left, top) = (LEFT + WIDTH * (i % columns), TOP + HEIGHT * (i / columns));
            let x = |mm: f64| pixel(left, left + WIDTH - 40, (0.0, greatest_mm), mm);
            let y = |share: f64| pixel(top + HEIGHT - 50, top + 25, (0.0, 1.0), share);
            let title = format!("{} head, {}", power.grade.name, power.zero.name());
            text(&area, &title, (x(0.5 * greatest_mm), top + 10), HPos::Center, 13)?;
            line(&area, (x(0.0), y(0.0)), (x(greatest_mm), y(0.0)), BLACK)?;
            line(&area, (x(0.0), y(0.0)), (x(0.0), y(1.0)), BLACK)?;
            line(&area, (x(0.0), y(0.95)), (x(greatest_mm), y(0.95)), GREY)?;
            for mm in [0, 10, 20, 30, 40] {
                text(&area, &mm.to_string(), (x(f64::from(mm)), y(0.0) + 10), HPos::Center, TEXT_PX)?;
            }
            text(&area, "depth, mm", (x(0.5 * greatest_mm), y(0.0) + 25), HPos::Center, TEXT_PX)?;
            for percent in [0, 50, 95] {
                let at = (x(0.0) - 6, y(0.01 * f64::from(percent)));
                text(&area, &format!("{percent} %"), at, HPos::Right, TEXT_PX)?;
            }
            for ((marker, dash), shares) in LINES.iter().zip(&power.found) {
                let points: Vec<(i32, i32)> =
                    DEPTHS_MM.iter().zip(shares).map(|(mm, share)| (x(f64::from(*mm)), y(share.mean()))).collect();
                path(&area, points.clone(), *dash)?;
                for point in points {
                    marker.draw(&area, point)?;
                }
            }
            Marker::Plus.draw(&area, (x(0.0), y(power.false_alarms.mean())))?;
        }
        area.present()?;
    }
    Ok(svg)
}

/// Where a value lies between two pixels.
fn pixel(from: i32, to: i32, ends: (f64, f64), value: f64) -> i32 {
    let share = (value - ends.0) / (ends.1 - ends.0);
    #[expect(clippy::cast_possible_truncation, reason = "between two pixels of a picture")]
    let at = (f64::from(from) + share * f64::from(to - from)).round() as i32;
    at
}

fn text(area: &Area<'_>, words: &str, at: (i32, i32), align: HPos, size_px: i32) -> Result<(), Error> {
    // The library takes a size for the height of a line, 1.24 of the font's own.
    let style = (FONT, 1.24 * f64::from(size_px)).into_font().color(&BLACK).pos(Pos::new(align, VPos::Center));
    Ok(area.draw(&Text::new(words.to_owned(), at, style))?)
}

fn line(area: &Area<'_>, from: (i32, i32), to: (i32, i32), color: RGBColor) -> Result<(), Error> {
    Ok(area.draw(&PathElement::new(vec![from, to], color.stroke_width(1)))?)
}

fn path(area: &Area<'_>, points: Vec<(i32, i32)>, dash: Option<(i32, i32)>) -> Result<(), Error> {
    let style = BLACK.stroke_width(1);
    match dash {
        None => area.draw(&PathElement::new(points, style))?,
        Some((on, off)) => area.draw(&DashedPathElement::new(points, on, off, style))?,
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        row::row,
        shape::Shape,
        source::Source,
        survey::{Case, Zero},
    };

    /// Text stays text, and every colour is a grey.
    fn checked(svg: &str) {
        assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>") && svg.contains("<text"));
        for colour in svg.split('#').skip(1).map(|s| &s[..6]) {
            assert!(colour[..2] == colour[2..4] && colour[..2] == colour[4..], "{colour}");
        }
    }

    #[test]
    fn figures_are_black_and_grey_with_text() {
        let row = row(Case::new(Shape::Backfall, Source::Plain, Zero::Known), 2, 1).unwrap();
        let svg = coverage(core::slice::from_ref(&row)).unwrap();
        checked(&svg);
        assert!(svg.contains(&markdown::case(&row.case)));
        let found = vec![vec![[true, false].into_iter().collect(); DEPTHS_MM.len()]; LENGTHS_M.len()];
        let one = Power { grade: GRADES[0], zero: ZEROS[0], found, false_alarms: [false].into_iter().collect() };
        let svg = power(&[one]).unwrap();
        checked(&svg);
        assert!(svg.contains("false alarms"));
    }
}
