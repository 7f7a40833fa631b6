//! Hours solved one by one: slow, but it ends whatever the curves look like.

use super::stretch::Stretch;
use crate::ground_side::Offer;
use crate::heat_pump::{Asked, ReadyHeatPump};
use crate::lanes::Lanes;

/// Halvings that take any bracket of temperatures to the last bit.
const BISECTIONS: usize = 200;

/// Entering fluid temperature [degC] and heat extracted [W] in each hour of a stretch for the design in one lane.
#[cold]
#[inline(never)]
pub(super) fn bisect<const L: usize, const H: usize>(
    heat_pump: &ReadyHeatPump<1>,
    offer: &Offer<L, H>,
    lane: usize,
    stretch: &Stretch<H>,
) -> [(f64, f64); H] {
    let resistance = offer.answers[0].0[lane];
    let mut open_circuit = offer.settled.0.map(|settled| settled.0[lane]);
    let mut found = [(0.0, 0.0); H];
    for hour in 0..H {
        let asked = stretch.asked::<1, 1>(hour);
        let besides = stretch.besides[hour];
        let entering = hour_alone(heat_pump, open_circuit[hour] + resistance * besides, resistance, &asked);
        let heat = heat_at(heat_pump, entering, &asked) - besides;
        for (later, answer) in open_circuit[hour + 1..].iter_mut().zip(&offer.answers[1..]) {
            *later -= answer.0[lane] * heat;
        }
        found[hour] = (entering, heat);
    }
    found
}

fn heat_at(heat_pump: &ReadyHeatPump<1>, entering_fluid: f64, asked: &Asked<1>) -> f64 {
    heat_pump.operate::<Lanes<1>>(Lanes([entering_fluid]), asked).heat_extracted.0[0]
}

/// Solves `entering fluid = open circuit - resistance x heat extracted(entering fluid)`.
fn hour_alone(heat_pump: &ReadyHeatPump<1>, open_circuit: f64, resistance: f64, asked: &Asked<1>) -> f64 {
    let excess = |entering: f64| entering - open_circuit + resistance * heat_at(heat_pump, entering, asked);
    let mut reach = 1.0 + resistance * (asked.heating.0[0] + asked.cooling.0[0]);
    while excess(open_circuit - reach) > 0.0 || excess(open_circuit + reach) < 0.0 {
        reach *= 2.0;
    }
    let (mut low, mut high) = (open_circuit - reach, open_circuit + reach);
    for _ in 0..BISECTIONS {
        let middle = 0.5 * (low + high);
        if excess(middle) < 0.0 { low = middle } else { high = middle }
    }
    low
}
