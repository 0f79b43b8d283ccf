//! Indexing and chainline against closed forms.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use mechanics::{
    chain_path::PITCH_MM,
    chainline::{FRICTION, PIN_RADIUS_MM, lateral_angle_rad, middle_of_pack_mm, pin_loss_share, sprockets_from_middle_mm},
    indexing::{Shifting, beside_sprocket_mm, lost_share, pull_wanted_mm},
};
use proptest::prelude::*;

/// A worked example of the trade (a mechanic's article on shift ratios): 3.4 mm of cable on a ratio of 1.1 moves 3.74 mm where 4.08 mm
/// would be wanted, a third of a millimetre less at each of nine shifts.
#[test]
fn unequal_speeds_do_not_index() {
    let mixed = Shifting { pulls_mm: &[3.4; 9], ratio: 1.1_f64, lost_share: 0.0, pitches_mm: &[4.08; 9] }.indexed().unwrap();
    assert!((mixed.worst_mm - 0.5 * 9.0 * 0.34).abs() < 1e-9, "{mixed:?}");
    let own = Shifting { pulls_mm: &[3.4; 9], ratio: 1.2_f64, lost_share: 0.0, pitches_mm: &[4.08; 9] }.indexed().unwrap();
    assert!(own.worst_mm < 1e-9);
}

#[test]
fn what_cannot_be_is_refused() {
    let told = |pulls: &[f64], ratio, lost, pitches: &[f64]| {
        Shifting { pulls_mm: pulls, ratio, lost_share: lost, pitches_mm: pitches }.indexed().unwrap_err().to_string()
    };
    assert!(told(&[2.7; 9], 1.7, 0.0, &[4.0; 10]).contains("9 shifts do not reach 11 sprockets"));
    assert!(told(&[-2.7; 9], 1.7, 0.0, &[4.0; 9]).contains("pull"));
    assert!(told(&[2.7; 9], 0.0, 0.0, &[4.0; 9]).contains("ratio"));
    assert!(told(&[2.7; 9], 1.7, 1.0, &[4.0; 9]).contains("housing"));
    assert!(told(&[2.7; 9], 1.7, 0.0, &[f64::NAN; 9]).contains("pitch"));
}

/// Counted link by link over one turn of the ring: at either end each link turns once.
#[test]
fn pins_take_the_work_of_their_turning() {
    let (ring, sprocket, tension) = (44_u32, 11_u32, 300.0);
    let turn = |teeth: u32| std::f64::consts::TAU / f64::from(teeth);
    let rubbed: f64 = (0..ring).map(|_| FRICTION * tension * PIN_RADIUS_MM * (turn(ring) + turn(sprocket))).sum();
    let done = tension * PITCH_MM * f64::from(ring);
    let share = pin_loss_share(ring, sprocket, FRICTION, PIN_RADIUS_MM).unwrap();
    assert!((share - rubbed / done).abs() < 1e-12);
    assert!(pin_loss_share(0, 11, FRICTION, PIN_RADIUS_MM).is_none());
}

/// Spicer et al. (2001): larger sprockets lose less, and at best 98.6 % arrived; the pins alone take less than all that was lost.
#[test]
fn larger_sprockets_lose_less() {
    let lost = [11, 15, 21].map(|sprocket| pin_loss_share(52, sprocket, FRICTION, PIN_RADIUS_MM).unwrap());
    assert!(lost[0] > lost[1] && lost[1] > lost[2]);
    assert!(lost.iter().all(|share| *share < 1.0 - 0.81) && lost[2] < 1.0 - 0.986);
}

proptest! {
    #[test]
    fn even_spacing_is_the_closed_form(pull in 1.0..5.0_f64, ratio in 0.9..2.5_f64, pitch in 3.0..6.0_f64, shifts in 1_usize..13) {
        let (pulls, pitches) = (vec![pull; shifts], vec![pitch; shifts]);
        let indexed = Shifting { pulls_mm: &pulls, ratio, lost_share: 0.0, pitches_mm: &pitches }.indexed().unwrap();
        prop_assert!((indexed.worst_mm - 0.5 * shifts as f64 * (ratio * pull - pitch).abs()).abs() < 1e-9);
        // With the pull that is wanted, housing and all, there is no error.
        let lost = lost_share(0.01, 2.0);
        let wanted = vec![pull_wanted_mm(pitch, ratio, lost); shifts];
        let exact = Shifting { pulls_mm: &wanted, ratio, lost_share: lost, pitches_mm: &pitches }.indexed().unwrap();
        prop_assert!(exact.worst_mm < 1e-9);
    }

    /// No other barrel position makes the largest error smaller.
    #[test]
    fn the_barrel_is_at_its_best(pulls in prop::collection::vec(1.0..5.0_f64, 1..12), off in -2.0..2.0_f64) {
        let pitches = vec![3.9; pulls.len()];
        let indexed = Shifting { pulls_mm: &pulls, ratio: 1.4, lost_share: 0.0, pitches_mm: &pitches }.indexed().unwrap();
        let largest = |by: f64| indexed.errors_mm.iter().map(|error| (error + by).abs()).fold(0.0, f64::max);
        prop_assert!((largest(0.0) - indexed.worst_mm).abs() < 1e-9);
        prop_assert!(largest(off) >= indexed.worst_mm - 1e-9);
    }

    #[test]
    fn from_the_middle_both_ends_are_equally_aslant(outermost in 40.0..70.0_f64, pitches in prop::collection::vec(3.0..6.0_f64, 1..12)) {
        let places: Vec<f64> = sprockets_from_middle_mm(outermost, &pitches).collect();
        prop_assert_eq!(places.len(), pitches.len() + 1);
        let ring = middle_of_pack_mm(outermost, &pitches);
        let angle = |place: f64| lateral_angle_rad(ring, place, 430.0);
        prop_assert!((angle(places[0]) + angle(places[places.len() - 1])).abs() < 1e-12);
        prop_assert!((beside_sprocket_mm(3.95_f64, 1.6, 5.96) - 0.17).abs() < 1e-9);
    }
}
