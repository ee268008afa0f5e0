//! Rendered frames of the ruler sheet with planted camera, lens, blur, light and noise, and frames that are no ruler's.

use geometry::ruler::Paper;
use geometry::{Angle, Length, Point, Stops, point};
use optics::Pose;
use print::ruler::{Ask, Reading, measure};
use scene::noise::Rng;
use scene::{Output, Rig, Scene, Shot};

const WIDTH: usize = 3000;
const HEIGHT: usize = 2000;

/// A ruler frame drawn at random: tilt up to 3 degrees, distortion, principal point, blur, fall-off and noise.
struct Planted {
    scene: Scene,
    shot: Shot,
}

fn planted(seed: u64) -> Planted {
    let mut rng = Rng::new(seed);
    let mut rig = Rig::default();
    let c = &mut rig.camera;
    *c = optics::Camera::over(
        WIDTH as f64,
        HEIGHT as f64,
        Length::mm(36.0),
        Length::mm(rng.between(130.0, 190.0)),
        Length::mm(rng.between(350.0, 520.0)),
    );
    let (lean, way) = (rng.between(0.0, 3.0), rng.between(0.0, std::f64::consts::TAU));
    (c.tilt_x, c.tilt_y) = (Angle::deg(lean * way.cos()), Angle::deg(lean * way.sin()));
    c.lens.k = [rng.between(-0.02, 0.02), rng.between(-0.004, 0.004), 0.0];
    c.lens.centre = c.lens.centre + point(rng.between(-12.0, 12.0), rng.between(-12.0, 12.0));
    c.corner_angle = Angle::deg(rng.between(8.0, 18.0));
    let azimuth = Angle::deg(rng.between(0.0, 360.0));
    let (elevation, distance) = (Angle::deg(rng.between(38.0, 55.0)), Length::mm(rng.between(500.0, 1200.0)));
    rig.light = optics::Light::at(azimuth, elevation, distance, rig.light.shape);
    rig.room_bounce = Stops::new(-7.0);
    let s = &mut rig.sensor;
    s.blur_px = rng.between(0.55, 1.1);
    s.full_well = rng.between(40_000.0, 80_000.0);
    s.read_noise = rng.between(3.0, 6.0);
    s.sensitivity = [1.0; 3];
    s.output = Output::Linear16;
    let paper = rng.pick(&Paper::ALL);
    let turn = rng.pick(&[0.0, 90.0, 180.0, 270.0]) + rng.between(-2.5, 2.5);
    let pose = Pose { centre: point(rng.between(-12.0, 12.0), rng.between(-12.0, 12.0)), rotation: Angle::deg(turn) };
    let scene = Scene::ruler(rig, paper, pose, seed);
    let shot = scene::render(&scene, WIDTH, HEIGHT);
    Planted { scene, shot }
}

fn ask(p: &Planted) -> Ask {
    Ask { focal_px: Some(p.scene.rig.camera.focal_px()), ..Ask::default() }
}

#[test]
fn explore() {
    for seed in 1..=6 {
        let p = planted(seed);
        let start = std::time::Instant::now();
        let r = match measure(&p.shot.frame, &ask(&p)) { Ok(r) => r, Err(e) => { println!("{seed}: {e}"); continue } };
        let c = p.scene.rig.camera;
        let height = scene::ruler::THICKNESS / c.tilt().to_rad().cos();
        let scale = c.focal_px() / (c.distance.to_mm() - height);
        println!("{seed}: {:.2}s squares {} rms {:.4} growth {:.4}", start.elapsed().as_secs_f64(), r.squares, r.place.rms_px, r.place.growth_mm);
        println!("  tilt dx {:.4} ({:.4}) dy {:.4} ({:.4}) scale {:.5}% ({:.5}%) stretch {:.6} rot {:.3} vs {:.3}",
            r.stand.tilt_x_deg.value - c.tilt_x.to_deg(), r.stand.tilt_x_deg.error,
            r.stand.tilt_y_deg.value - c.tilt_y.to_deg(), r.stand.tilt_y_deg.error,
            100.0*(r.stand.px_per_mm.value/scale - 1.0), 100.0*r.stand.px_per_mm.error/scale, r.stand.stretch.value, r.stand.rotation_deg.value, p.scene.sheets[0].pose.rotation.to_deg());
        println!("  k {:?} vs {:?} err {:?} centre {:?} vs {:?}", r.place.lens.k, c.lens.k, r.place.lens_error, r.place.lens.centre, c.lens.centre);
        for z in &r.zones {
            for s in [&z.across, &z.down] {
                match s { Ok(s) => {
                    let a = s.response.slant_deg.to_radians();
                    let want = (1..2000).map(|i| i as f64/2000.0).find(|f| scene::response(p.scene.rig.sensor.blur_px, f*a.cos(), f*a.sin()) < 0.5).unwrap();
                    print!("  {:.3}%({:.3}) n{}", 100.0*(s.mtf50.unwrap().value/want-1.0), 100.0*s.mtf50.unwrap().error/want, s.edges);
                }, Err(e) => print!("  {e}") }
            }
        }
        println!();
        println!("  well {:.0} vs {:.0} read {:.2} vs {:.2}; {} greys", 1.0/r.noise.shot[1], p.scene.rig.sensor.full_well, r.noise.read[1]/r.noise.shot[1], p.scene.rig.sensor.read_noise, r.noise.greys.len());
        println!("  lateral {:?}", r.lateral.red);
    }
}
