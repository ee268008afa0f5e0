//! Exposing: the flash by its guide number, the shutter, and the room's light under the flash.

use super::concern::Mended;
use super::{Concern, Focus, Framing, Lighting, Wish, focus};
use crate::{FNumber, GuideNumber, Lux, closeup, exposure};
use geometry::{Length, Stops};

/// Flash, shutter and the room's light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exposing {
    /// f-number to set.
    pub set: FNumber,
    /// f-number at work.
    pub working: FNumber,
    /// ISO to set.
    pub iso: f64,
    /// Exposure time, seconds.
    pub shutter: f64,
    /// The flash, where its guide number is known.
    pub flash: Option<Flash>,
    /// The guide number (m, ISO 100) with which this distance and aperture take half power.
    pub guide_wanted: GuideNumber,
    /// What lighting a flat sheet aslant costs against facing the flash: `log2(1 / sin e)`.
    pub slant: Stops,
    /// Light on the print per frame, lux seconds.
    pub dose: f64,
    /// How far the room's light lies under the flash.
    pub ambient_below: Option<Stops>,
    /// The most the room may give at this shutter.
    pub ambient_most: Lux,
    /// The exposure time that puts the room's light as far under as asked, seconds.
    pub shutter_for: Option<f64>,
    /// Where the flash has to come for want of power; the plan is then made again from there.
    pub bring_to: Option<Length>,
}

/// What the flash is set to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flash {
    /// Its guide number.
    pub guide: GuideNumber,
    /// Share of full power to set.
    pub power: f64,
    /// Share of full power that the exposure needs; over 1 where the flash is too weak.
    pub needs: f64,
    /// f-number to set at full power by the guide number alone, `GN / (d (1 + m))`.
    pub full_power_set: FNumber,
}

/// Speeds to pay with, in the order tried: past 800 noise shows in the darks of a book. Common practice, no source.
const SPEEDS: [f64; 4] = [100.0, 200.0, 400.0, 800.0];
/// The least power flashes commonly have.
const LEAST_POWER: f64 = 1.0 / 128.0;
/// Rounding in thirds of a stop may ask for a hair more than there is.
const FULL: f64 = 1.01;

/// Works out the exposure.
pub(super) fn exposing(
    wish: &Wish,
    framing: &Framing,
    focused: &Focus,
    lighting: &Lighting,
    concerns: &mut Vec<Concern>,
) -> Exposing {
    let m = framing.magnification;
    let distance = lighting.light.distance();
    let sine = wish.elevation().to_rad().sin();
    let power = |iso: f64, set: FNumber, guide: GuideNumber| {
        exposure::power_for(guide, iso, distance, closeup::working(set, m, 1.0)) / sine
    };
    let mut set = focused.set;
    let mut iso = wish.iso.unwrap_or(SPEEDS[0]);
    let mut bring_to = None;
    if let Some(guide) = wish.guide {
        if wish.iso.is_none() {
            let enough = |s: &f64| power(*s, set, guide) <= FULL;
            iso = SPEEDS.into_iter().find(enough).unwrap_or(SPEEDS[SPEEDS.len() - 1]);
        }
        let over = power(iso, set, guide);
        if over > FULL {
            let opened = set.opened(Stops::new(over.log2()));
            let nearer = distance * (1.0 / over.sqrt());
            let wide_enough = focused.range.is_some_and(|(low, _)| opened >= low);
            let mended = match (wish.aperture, wish.light_distance) {
                (None, _) if wide_enough => Mended::Aperture,
                (_, None) if nearer >= lighting.least => Mended::Distance,
                _ => Mended::Nothing,
            };
            let (iso_pays, stops) = (iso * over, Stops::new(over.log2()));
            concerns.push(Concern::FlashWeak { stops, iso: iso_pays, aperture: opened, distance: nearer, mended });
            match mended {
                Mended::Aperture => set = FNumber(focus::third(opened.0).min(opened.0)),
                Mended::Distance => bring_to = Some(nearer),
                _ => {}
            }
        } else if wish.iso.is_none() && iso > SPEEDS[0] {
            let at_100 = power(SPEEDS[0], set, guide);
            concerns.push(Concern::FlashWeak {
                stops: Stops::new(at_100.log2()),
                iso,
                aperture: set.opened(Stops::new(at_100.log2())),
                distance: distance * (1.0 / at_100.sqrt()),
                mended: Mended::Iso,
            });
        }
        if power(iso, set, guide) < LEAST_POWER {
            concerns.push(Concern::FlashStrong { stops: Stops::new((LEAST_POWER / power(iso, set, guide)).log2()) });
        }
    }
    let working = closeup::working(set, m, 1.0);
    let dose = exposure::dose(working, iso);
    let shutter = shutter(wish, concerns);
    // Flash exposes `dose`; the room adds lux times seconds.
    let below = wish.ambient.map(|e| Stops::between(dose, e.0 * shutter));
    let shutter_for = wish.ambient.map(|e| dose / (e.0 * wish.asked.ambient.factor()));
    let ambient_most = Lux(dose / (shutter * wish.asked.ambient.factor()));
    if let (Some(below), Some(needs)) = (below, shutter_for)
        && below.value() < wish.asked.ambient.value() - 0.01
    {
        concerns.push(Concern::RoomBright {
            below,
            asked: wish.asked.ambient,
            most: ambient_most,
            needs,
            sync: wish.sync,
        });
    }
    Exposing {
        set,
        working,
        iso,
        shutter,
        flash: wish.guide.map(|guide| Flash {
            guide,
            power: power(iso, set, guide).min(1.0),
            needs: power(iso, set, guide),
            full_power_set: exposure::flash_set(guide, iso, distance, m, 1.0),
        }),
        // GN at full power is N_w d / sqrt(sin e) at this ISO; half power wants the root of two more.
        guide_wanted: GuideNumber::metres(working.0 * distance.to_mm() / 1000.0 * (2.0 / sine).sqrt(), iso),
        slant: Stops::new(-sine.log2()),
        dose,
        ambient_below: below,
        ambient_most,
        shutter_for,
        bring_to,
    }
}

/// The exposure time: as wished, never shorter than the shutter is wholly open.
fn shutter(wish: &Wish, concerns: &mut Vec<Concern>) -> f64 {
    match wish.shutter {
        // A thousandth: 1/200 as typed and as computed are the same time.
        Some(t) if t < wish.sync * 0.999 => {
            concerns.push(Concern::OverSync { wanted: t, sync: wish.sync });
            wish.sync
        }
        Some(t) => t,
        None => wish.sync,
    }
}
