//! Standard deviations of the heights of all nodes at once.

use super::{
    Functional, Lips, Posterior,
    basis::{dot, part},
    functional::{add, parts},
    tied::Tied,
};
use crate::prelude::*;
use crate::{
    math,
    path::{Layout, Piece},
    profile::Profile,
};

/// A variance below this share of what it is the rest of is computed anew, without a difference: what is left keeps six digits.
const CANCELLED: f64 = 1e-9;

/// What heights are relative to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Anchor {
    /// The height at a station, m; the nearest end where it lies outside.
    Station(f64),
    /// The datum that ties, or as-built inverts, give: elevations. Infinite where they give none.
    Datum,
}

impl Posterior {
    /// Standard deviation of the height of each node of the profile, m, relative to what the anchor says.
    pub fn height_sd_m(&self, layout: &Layout, profile: &Profile, anchor: Anchor) -> Vec<f64> {
        match (&self.tied, anchor) {
            (Some(tied), _) => self.tied_sd_m(tied, layout, profile, anchor),
            (None, Anchor::Station(anchor_m)) => self.untied_sd_m(layout, profile, anchor_m),
            (None, Anchor::Datum) => {
                let elevation = |s: &f64| self.estimate(&self.shape(layout, profile).elevation(*s)).sd;
                profile.station_m.iter().map(elevation).collect()
            }
        }
    }

    fn untied_sd_m(&self, layout: &Layout, profile: &Profile, anchor_m: f64) -> Vec<f64> {
        let all = || layout.pieces.iter().copied().zip(profile.tilt_rad.iter().copied());
        // The piece that the station lies within is walked in two parts, one each way.
        let cut = |from_m: f64, to_m: f64| if from_m < anchor_m && anchor_m < to_m { Some(anchor_m) } else { None };
        let begin = all().next().map_or(0.0, |(p, _)| p.from_m);
        let before: Vec<(Piece, f64)> = all()
            .filter(|(p, _)| p.from_m < anchor_m && begin < anchor_m)
            .map(|(p, tilt)| (Piece { to_m: cut(p.from_m, p.to_m).unwrap_or(p.to_m), ..p }, tilt))
            .collect();
        let after: Vec<(Piece, f64)> = all()
            .skip(before.len().saturating_sub(usize::from(all().any(|(p, _)| cut(p.from_m, p.to_m).is_some()))))
            .map(|(p, tilt)| (Piece { from_m: cut(p.from_m, p.to_m).unwrap_or(p.from_m), ..p }, tilt))
            .collect();
        let whole = before.len() + after.len() == layout.pieces.len();
        let mut sd = self.walked_sd_m(profile.scale, before.into_iter().rev());
        sd.reverse();
        if whole {
            sd.push(0.0); // the station is a node
        }
        sd.extend(self.walked_sd_m(profile.scale, after.into_iter()));
        sd
    }

    /// Standard deviations of the heights passed on the way, relative to its start.
    fn walked_sd_m(&self, length_scale: f64, pieces: impl Iterator<Item = (Piece, f64)>) -> Vec<f64> {
        // The variance is kept up to date as derivatives grow node by node: linear in the nodes.
        let mut tilt = vec![0.0; self.tilt_rad.len()];
        let mut shared = vec![0.0; self.sources.len()];
        let (mut own, mut steps, mut scale, mut lips) = (0.0, 0.0, 0.0, 0.0);
        // What each piece adds to the heights of the draws.
        let mut added = Vec::new();
        let mut variance = Vec::new();
        for (piece, tilt_rad) in pieces {
            let length = (piece.to_m - piece.from_m) * length_scale;
            if let Some(step) = piece.step {
                let s = self.step_sd_m.get(step).copied().unwrap_or(0.0);
                steps += s * s;
                added.push([(0, 0.0); 2]);
            } else {
                let (sin, cos) = math::sin_cos(tilt_rad);
                scale += length * sin / length_scale;
                lips += (piece.to_m - piece.from_m) * self.lip_variance_m;
                added.push(parts(&piece).map(|(segment, part)| (segment, length * cos * part)));
                for (segment, part) in parts(&piece) {
                    let Some(g) = tilt.get_mut(segment) else { continue };
                    let w = self.white_sd_rad.get(segment).copied().unwrap_or(0.0);
                    let grown = *g + length * cos * part;
                    own += w * w * (grown * grown - *g * *g);
                    *g = grown;
                    for (sum, source) in shared.iter_mut().zip(&self.sources) {
                        *sum += length * cos * part * source.tilt_rad.get(segment).copied().unwrap_or(0.0);
                    }
                }
            }
            let by_scale = scale * self.scale_sd;
            let by_sources: f64 = shared.iter().map(|g| g * g).sum();
            variance.push(own.max(0.0) + steps + lips + by_scale * by_scale + by_sources);
        }
        if let Some(scatter) = &self.scatter {
            variance.iter_mut().zip(scatter.growing(&added, &[]).0).for_each(|(variance, drawn)| *variance += drawn);
        }
        variance.into_iter().map(f64::sqrt).collect()
    }

    /// The same with ties: what the pieces passed add is put into the coordinates of the ties' basis.
    fn tied_sd_m(&self, tied: &Tied, layout: &Layout, profile: &Profile, anchor: Anchor) -> Vec<f64> {
        let nodes = profile.station_m.len();
        let Some((first_m, last_m)) = profile.range() else { return Vec::new() };
        let (anchor_m, mut start) = match anchor {
            // Height from the anchor down to the first node; lips are put in node by node.
            Anchor::Station(at_m) => {
                let at_m = at_m.max(first_m).min(last_m);
                (at_m, self.shape(layout, profile).fall(at_m, first_m))
            }
            Anchor::Datum => {
                let mut start = self.shape(layout, profile).nothing();
                start.open[Functional::ELEVATION] = -1.0;
                (first_m, start)
            }
        };
        start.lips.clear();
        let Some((start, _)) = tied.closed_vector(self, &start) else { return vec![f64::INFINITY; nodes] };
        let (shared, changing) = (tied.coordinates.shared(), tied.coordinates.equation(0));
        let own = &start[..shared];

        // Heights of all nodes below the first, as functions of the tilts: the coefficients that each piece adds.
        let mut added = Vec::with_capacity(nodes);
        added.push([(0, 0.0); 2]);
        let tilts = &profile.tilt_rad;
        for (i, piece) in layout.pieces.iter().enumerate() {
            added.push(if piece.step.is_some() {
                [(0, 0.0); 2]
            } else {
                layout.fall_by_tilts(i, &self.tilt_rad, profile.scale)
            });
        }
        // Of each node: square of its own coordinates, and their products with the basis.
        let mut own_parts: Vec<(f64, Vec<f64>)> = Vec::with_capacity(nodes);
        if let Some(scatter) = &self.scatter {
            let vectors: Vec<Vec<f64>> =
                tied.basis.vectors.iter().map(|q| part(q, 0..shared).to_vec()).chain([own.to_vec()]).collect();
            let begun = dot(own, own);
            let begun_along: Vec<f64> = tied.basis.vectors.iter().map(|q| dot(q, own)).collect();
            let (squares, products) = scatter.growing(&added, &vectors);
            for (square, mut product) in squares.into_iter().zip(products) {
                let cross = product.pop().unwrap_or(0.0);
                product.iter_mut().zip(&begun_along).for_each(|(p, begun)| *p += begun);
                own_parts.push((begun + 2.0 * cross + square, product));
            }
        } else {
            let mut x = own.to_vec();
            let mut square = dot(own, own);
            let mut along: Vec<f64> = tied.basis.vectors.iter().map(|q| dot(q, own)).collect();
            for step in &added {
                for (cell, coefficient) in step.iter().filter(|(_, coefficient)| *coefficient != 0.0) {
                    let (Some(x), Some(sd)) = (x.get_mut(*cell), self.white_sd_rad.get(*cell)) else { continue };
                    let grown = *x + coefficient * sd;
                    square += grown * grown - *x * *x;
                    let more = grown - *x;
                    for (a, q) in along.iter_mut().zip(&tied.basis.vectors) {
                        *a += q.get(*cell).map_or(0.0, |q| q * more);
                    }
                    *x = grown;
                }
                own_parts.push((square, along.clone()));
            }
        }
        // What no node changes: the ties' own errors and the stations'.
        let kept = &start[changing..];
        let kept_square = dot(kept, kept);
        let kept_along: Vec<f64> = tied.basis.vectors.iter().map(|q| dot(part(q, changing..q.len()), kept)).collect();
        let mut grown = self.shape(layout, profile).nothing();
        let mut sd = Vec::with_capacity(nodes);
        let mut lips = vec![0.0; changing - tied.coordinates.lips(0)];
        let mut shared_x = start.clone();
        for (node, (own_square, own_along)) in own_parts.into_iter().enumerate() {
            if let Some(before) = node.checked_sub(1) {
                pass(&mut grown, &layout.pieces[before], tilts[before], added[node], profile.scale);
                for (i, source) in self.sources.iter().enumerate() {
                    let more: f64 =
                        added[node].iter().map(|(k, g)| g * source.tilt_rad.get(*k).copied().unwrap_or(0.0)).sum();
                    shared_x[shared + i] += more;
                }
            }
            let station_m = profile.station_m[node];
            let factor = if station_m < anchor_m { -1.0 } else { 1.0 };
            grown.lips = vec![Lips { from_m: anchor_m.min(station_m), to_m: anchor_m.max(station_m), factor }];
            let mut x = shared_x[shared..changing].to_vec();
            x[tied.coordinates.scale() - shared] += grown.scale * self.scale_sd;
            for (i, (g, step_sd)) in grown.step.iter().zip(&self.step_sd_m).enumerate() {
                x[tied.coordinates.step(i) - shared] += g * step_sd;
            }
            let at_lips = tied.coordinates.lips(0) - shared;
            lips.fill(0.0);
            let extra = tied.coordinates.put_lips(self.lip_variance_m, &grown.lips, &mut lips);
            x[at_lips..].iter_mut().zip(&lips).for_each(|(x, lip)| *x += lip);
            let whole = own_square + dot(&x, &x) + kept_square;
            let taken: f64 = tied
                .basis
                .vectors
                .iter()
                .zip(own_along.iter().zip(&kept_along))
                .map(|(q, (own, kept))| own + kept + dot(part(q, shared..changing), &x))
                .map(|product| product * product)
                .sum();
            let mut left = whole - taken;
            if left < CANCELLED * whole {
                let (mut x, _) = tied.coordinates.of(self, &grown);
                x.iter_mut().zip(&start).for_each(|(x, s)| *x += s);
                tied.basis.take_off(&mut x);
                left = dot(&x, &x);
            }
            sd.push((left + extra).max(0.0).sqrt());
        }
        sd
    }
}

/// Adds a piece to the fall from the first node.
fn pass(grown: &mut Functional, piece: &Piece, tilt_rad: f64, by_tilt: [(usize, f64); 2], scale: f64) {
    if let Some(step) = piece.step {
        add(&mut grown.step, step, -1.0);
        return;
    }
    for (segment, coefficient) in by_tilt {
        add(&mut grown.tilt, segment, coefficient);
    }
    let sine = math::sin(tilt_rad);
    grown.scale += (piece.to_m - piece.from_m) * sine;
    grown.value += (piece.to_m - piece.from_m) * scale * sine;
}
