//! The side view for a screen across the room: outlines, ground, steering axis, the names of what is swapped, a scale bar.
//!
//! At that size a dimension would be read by nobody, so there is none; the figures that matter stand beside the drawing. Nor is there
//! a list of parts to look a balloon up in: what is swapped is named at its leader.

use quantity::print::Units;
use stand::answer::{Answer, Point, Pose, SideViews};

use super::{
    Area, Drawing, Label, Scene, Setting, axes,
    bike::{self, Element},
    bodies, description, ground, layout,
    layout::Obstacles,
    legend, moved_elements, outlines, pose_name, scale, shortens,
};
use crate::{
    letters::{self, Face, Weight},
    side_view::PIXEL_MM,
    svg::{Anchor, Ink},
};

/// Names on a drawing, at most.
const MOST_NAMES: usize = 4;
/// Room above the bicycle and at its sides, and what the ground with its hatching and the legend take below; in type sizes.
const ABOVE: f64 = 0.35;
const BELOW: f64 = 2.2;

/// The bicycle before and after, and where on a plate it stands.
pub(super) struct Placing<'a> {
    pub(super) views: &'a SideViews,
    /// Everything drawn of the bicycle after.
    pub(super) after: Vec<Element>,
    /// What of the bicycle before is not there any more.
    pub(super) gone: Vec<Element>,
    pub(super) telescopic: bool,
    /// The n of the scale 1 : n.
    pub(super) scale: f64,
    pub(super) origin: Point,
    pub(super) height: f64,
}

/// Finds scale and place of a pose's view in a box; `None` if the answer has none.
pub(super) fn placing(answer: &Answer, pose: Pose, [width, height]: [f64; 2], text: f64) -> Option<Placing<'_>> {
    let views = answer.side_views.iter().find(|v| v.pose == pose)?;
    let telescopic = shortens(answer);
    let after = bike::elements(&views.after, telescopic);
    let gone = moved_elements(bike::elements(&views.before, telescopic), &after);
    let (least, most) = bike::extent(after.iter().chain(&gone));
    let side = ABOVE * text;
    let tall = most[1] - least[1].max(-1.0);
    let n = scale(most[0] - least[0], width - 2.0 * side).max(scale(tall, height - (ABOVE + BELOW) * text));
    let mm_a_pixel = n * PIXEL_MM;
    let left = (width - (most[0] - least[0]) / mm_a_pixel) / 2.0;
    let origin = [left - least[0] / mm_a_pixel, ABOVE * text + most[1] / mm_a_pixel];
    Some(Placing { views, after, gone, telescopic, scale: n, origin, height: tall / mm_a_pixel + (ABOVE + BELOW) * text })
}

impl<'a> Placing<'a> {
    pub(super) fn scene(&'a self, width: f64, text: f64, face: Face) -> Scene<'a> {
        Scene {
            setting: Setting { width, height: Some(self.height), text, face, sparse: true },
            view: &self.views.after,
            mm_a_pixel: self.scale * PIXEL_MM,
            origin: self.origin,
            frame: Area::new(1.0, 1.0, width - 1.0, self.height - 1.0),
            obstacles: Obstacles::default(),
            labels: Vec::new(),
            ink: Ink::new(),
            links: Ink::new(),
        }
    }
}

/// Draws the view of a pose into a box; `None` if the answer has none.
pub(crate) fn plate(answer: &Answer, pose: Pose, units: Units, size: [f64; 2], text: f64, face: Face) -> Option<Drawing> {
    let placing = placing(answer, pose, size, text)?;
    let width = size[0];
    let mut scene = placing.scene(width, text, face);
    bodies(&mut scene, &placing.after);
    ground(&mut scene);
    axes(&mut scene, answer, pose, units);
    let moves = !placing.gone.is_empty();
    outlines(&mut scene, &placing.gone, true);
    outlines(&mut scene, &placing.after, false);
    legend(&mut scene, units, moves, BELOW - 0.2);
    names(&mut scene, answer);
    Some(Drawing {
        width,
        height: placing.height,
        scale: placing.scale,
        title: format!("{} from the drive side, {}", answer.bike, pose_name(pose)),
        description: description(answer, pose, units, placing.scale, moves),
        labels: scene.labels,
        elements: scene.ink.into_string(),
        links: scene.links.into_string(),
    })
}

/// Names what is swapped, each with a leader to where it is.
fn names(scene: &mut Scene<'_>, answer: &Answer) {
    let t = scene.setting.text;
    let size = 0.9 * t;
    // A screen may cut off what is nearer to its edge.
    let field = Area::new(scene.frame.left + 0.6 * t, scene.frame.top, scene.frame.right, scene.ground() - 0.3 * t);
    let swapped = answer.parts.iter().filter(|row| row.on_trial.is_some() || row.taken_off);
    for row in swapped.take(MOST_NAMES) {
        let targets: Vec<Point> = bike::targets(scene.view, &row.slot).into_iter().map(|p| scene.at(p)).collect();
        let width = letters::width(&row.label, size, Weight::Bold, scene.setting.face);
        let Some(tag) = layout::tag(&targets, [width, 0.95 * size], &scene.obstacles, &field, 0.35 * t) else { continue };
        scene.thin("leader on", tag.target, tag.from);
        scene.ink.circle("dot on", tag.target, 0.16 * t);
        scene.ink.text("n t on", [tag.area.left, tag.area.bottom - 0.19 * size], size, Anchor::Start, &row.label);
        scene.take(Label { text: row.label.clone(), area: tag.area });
    }
}
