//! Hours solved one by one: slow, but it ends whatever the curves look like.

use super::stretch::Stretch;
use crate::abreast::OneByOne;
use crate::ground_side::Offer;
use crate::heat_pump::{Asked, Load, ReadyHeatPump};
use crate::lanes::Lanes;

/// Halvings that take any bracket of temperatures to the last bit.
const BISECTIONS: usize = 200;

/// Entering fluid temperature [degC] and heat extracted [W] in each hour of a stretch for the design in one lane.
#[cold]
#[inline(never)]
pub(super) fn bisect<N: Lanes, const H: usize>(
    heat_pump: &ReadyHeatPump<f64>,
    offer: &Offer<N, H>,
    lane: usize,
    stretch: &Stretch<H>,
) -> [(f64, f64); H] {
    let resistance = offer.answers[0].lane(lane);
    let mut open_circuit = offer.settled.map(|settled| settled.lane(lane));
    let mut found = [(0.0, 0.0); H];
    for hour in 0..H {
        let asked = stretch.asked(OneByOne, hour);
        let besides = stretch.besides[hour];
        let entering = hour_alone(heat_pump, open_circuit[hour] + resistance * besides, resistance, &asked);
        let heat = heat_at(heat_pump, entering, &asked) - besides;
        for (later, answer) in open_circuit[hour + 1..].iter_mut().zip(&offer.answers[1..]) {
            *later -= answer.lane(lane) * heat;
        }
        found[hour] = (entering, heat);
    }
    found
}

fn heat_at(heat_pump: &ReadyHeatPump<f64>, entering_fluid: f64, asked: &Asked<f64>) -> f64 {
    heat_pump.operate::<f64>(entering_fluid, asked).heat_extracted
}

/// Solves `entering fluid = open circuit - resistance x heat extracted(entering fluid)`.
fn hour_alone(heat_pump: &ReadyHeatPump<f64>, open_circuit: f64, resistance: f64, asked: &Asked<f64>) -> f64 {
    let excess = |entering: f64| entering - open_circuit + resistance * heat_at(heat_pump, entering, asked);
    let amount = |load: Option<Load<f64>>| load.map_or(0.0, |load| load.amount);
    let mut reach = 1.0 + resistance * (amount(asked.heating) + amount(asked.cooling));
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
