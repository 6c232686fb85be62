//! The gun as seen from above, along its aim, and the footprint of its fan, at the panel's scale. Our own drawing.

use crate::parts::layout::Layout;
use crate::parts::pen::{INK, PAPER, Pen};
use crate::shell::app::App;
use fanlap::gun::{Gun, Pose};
use fanlap::maths::{atan2, cos, sin};
use fanlap::panel::Panel;
use fanlap::rehearsal::Doing;
use glam::DVec2;

/// The direction of travel on the stage, if the gun travels.
pub fn travel(app: &App) -> Option<(f64, f64)> {
    match app.doing() {
        Doing::Spraying(pass) => {
            let way = app.shown.rehearsal.passes()[pass].line.direction();
            Some((way.x, -way.y))
        }
        _ => None,
    }
}

/// The rim of the footprint on the plan, by the edge rays of the fan.
fn rim(panel: &Panel, gun: &Gun, pose: &Pose) -> Vec<DVec2> {
    let (fan, across) = (pose.fan * gun.tan_half_width(), pose.across() * gun.tan_half_depth());
    (0..48)
        .filter_map(|i| {
            let angle = std::f64::consts::TAU * f64::from(i) / 48.0;
            panel.landing(pose.nozzle, pose.aim + fan * cos(angle) + across * sin(angle), 2000.0)
        })
        .collect()
}

/// Draws the gun and, while it sprays, its footprint as a mist.
pub fn draw(pen: &Pen, app: &App, pose: &Pose, spraying: bool, travel: Option<(f64, f64)>) {
    let layout = &app.layout;
    let places: Vec<(f64, f64)> =
        rim(&app.job.panel, &app.job.gun, pose).into_iter().map(|place| layout.on_stage(place)).collect();
    if spraying {
        pen.on.set_global_alpha(0.35);
        pen.colour(PAPER).area(places.iter().copied());
        pen.on.set_global_alpha(1.0);
    }
    let closed = || places.iter().copied().chain(places.first().copied());
    pen.dash(if spraying { &[] } else { &[3.0, 3.0] });
    pen.colour(PAPER).width(3.0).line(closed());
    pen.colour(INK).width(1.0).line(closed()).dash(&[]);
    body(pen, layout, pose);
    if let Some(way) = travel {
        arrow(pen, layout, pose, way);
    }
}

/// Cup, body, handle and air cap, to scale, turned with the fan: the handle lies towards the painter.
fn body(pen: &Pen, layout: &Layout, pose: &Pose) {
    let (x, y) = layout.on_stage(pose.nozzle.truncate());
    let k = layout.scale;
    let turn = atan2(pose.fan.x, pose.fan.y);
    let stroke = |pen: &Pen, colour: &str, width: f64| {
        pen.colour(colour).width(width);
        pen.on.save();
        let _ = pen.on.translate(x, y);
        let _ = pen.on.rotate(turn);
        pen.circle(0.0, -64.0 * k, 44.0 * k);
        rounded(pen, (-15.0 * k, 14.0 * k), (30.0 * k, 138.0 * k), 7.0 * k);
        rounded(pen, (-24.0 * k, -26.0 * k), (48.0 * k, 52.0 * k), 8.0 * k);
        pen.circle(0.0, 0.0, 14.0 * k);
        pen.on.restore();
    };
    stroke(pen, "rgb(244 244 244 / 0.6)", 2.6);
    stroke(pen, INK, 1.1);
    pen.on.begin_path();
    let _ = pen.on.arc(x, y, (4.0 * k).max(1.5), 0.0, std::f64::consts::TAU);
    pen.on.fill();
}

fn rounded(pen: &Pen, (x, y): (f64, f64), (width, height): (f64, f64), radius: f64) {
    let on = pen.on;
    on.begin_path();
    on.move_to(x + radius, y);
    let _ = on.arc_to(x + width, y, x + width, y + height, radius);
    let _ = on.arc_to(x + width, y + height, x, y + height, radius);
    let _ = on.arc_to(x, y + height, x, y, radius);
    let _ = on.arc_to(x, y, x + width, y, radius);
    on.close_path();
    on.stroke();
}

fn arrow(pen: &Pen, layout: &Layout, pose: &Pose, (dx, dy): (f64, f64)) {
    let (x, y) = layout.on_stage(pose.nozzle.truncate());
    let at = |along: f64, side: f64| (x + dx * along - dy * side, y + dy * along + dx * side);
    let shape = |pen: &Pen| {
        pen.line([at(26.0, 0.0), at(46.0, 0.0)]);
        pen.line([at(40.0, 4.0), at(46.0, 0.0), at(40.0, -4.0)]);
    };
    pen.colour(PAPER).width(3.5);
    shape(pen);
    pen.colour(INK).width(1.4);
    shape(pen);
}
