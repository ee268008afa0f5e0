//! Writes rendered frames as PPM, to be looked at: `look sample SEED WIDTH OUT.ppm`, `look back SEED WIDTH OUT.ppm`, `look ruler TURN WIDTH OUT.ppm`, `look demo INDEX WIDTH OUT.ppm`,
//! `look picture SUBJECT SEED OUT.ppm`.

use pixels::Samples;
use scene::{Output, Picture, Subject};
use std::time::Instant;

fn main() -> std::io::Result<()> {
    let args: Vec<String> = std::env::args().collect();
    let number = |i: usize| args.get(i).and_then(|v| v.parse::<u64>().ok()).unwrap_or(0);
    let out = args.last().cloned().unwrap_or_default();
    let (width, height, bytes) = match args.get(1).map(String::as_str) {
        Some("picture") => {
            let subject = Subject::ALL[number(2) as usize % Subject::ALL.len()];
            let start = Instant::now();
            let (w, h) = (1106, 1106);
            let data = Picture::new(subject, number(3)).draw(w, h);
            eprintln!("{subject:?}: {:.0} ms", start.elapsed().as_secs_f64() * 1e3);
            let code = |v: f32| (pixels::colour::srgb_encode(f64::from(v).clamp(0.0, 1.0)) * 255.0 + 0.5) as u8;
            (w, h, data.iter().flat_map(|p| p.map(code)).collect())
        }
        _ => {
            let mut scene = match args.get(1).map(String::as_str) {
                Some("demo") => scene::demo::shots(1).swap_remove(number(2) as usize).scene,
                Some("back") => {
                    let mut scene = scene::sample(number(2));
                    scene.sheets[0].print = scene.sheets[0].print.clone().turned_over();
                    scene
                }
                Some("ruler") => ruler(number(2)),
                _ => scene::sample(number(2)),
            };
            if scene.rig.sensor.output == Output::Linear16 {
                scene.rig.sensor.output = Output::Srgb8;
            }
            let w = number(3).max(60) as usize;
            let start = Instant::now();
            let shot = scene::render(&scene, w, w * 2 / 3);
            eprintln!(
                "{:.0} ms  {:?}",
                start.elapsed().as_secs_f64() * 1e3,
                scene.sheets.first().map(|s| s.print.format)
            );
            let Samples::U8(bytes) = shot.frame.samples else { unreachable!() };
            (w, w * 2 / 3, bytes)
        }
    };
    let mut file = format!("P6\n{width} {height}\n255\n").into_bytes();
    file.extend(bytes);
    std::fs::write(out, file)
}

/// The ruler sheet turned by so many degrees.
fn ruler(turn: u64) -> scene::Scene {
    let pose = optics::Pose { centre: geometry::point(4.0, -3.0), rotation: geometry::Angle::deg(turn as f64) };
    scene::Scene::ruler(scene::Rig::default(), geometry::ruler::Paper::A4, pose, turn)
}
