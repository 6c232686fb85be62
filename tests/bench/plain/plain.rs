//! The straightforward program: the gun is stepped 2 mm at a time, each step visits the cells of its footprint's box and
//! adds what the pattern lays there, in f64 with std's powf, one thread. It shares nothing with fanlap.
//! `plain square|general JOB FILM`: every line on the standard input lays the job anew and is answered by its milliseconds;
//! the last film is written to FILM, 8 bytes a cell, when the input ends.

use std::io::{BufRead, Write};

type V3 = [f64; 3];

#[derive(Clone, Copy)]
struct Pose {
    time: f64,
    nozzle: V3,
    aim: V3,
    fan: V3,
}

struct Job {
    tan_width: f64,
    tan_depth: f64,
    m: f64,
    k: f64,
    heavy_end: f64,
    split: f64,
    /// mm3/s
    fluid: f64,
    transfer: f64,
    at_distance: f64,
    /// 0: it does not fall
    falls_over: f64,
    length: f64,
    width: f64,
    crown_along: f64,
    crown_across: f64,
    cell: f64,
    solids: f64,
    passes: Vec<Vec<Pose>>,
    /// So that the pattern integrates to 1.
    scale: f64,
}

fn dot(a: V3, b: V3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: V3, b: V3) -> V3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn unit(a: V3) -> V3 {
    a.map(|x| x / dot(a, a).sqrt())
}

fn between(a: V3, b: V3, share: f64) -> V3 {
    [0, 1, 2].map(|i| a[i] + (b[i] - a[i]) * share)
}

impl Job {
    fn read(path: &str) -> Job {
        let text = std::fs::read_to_string(path).unwrap();
        let mut numbers = text.split_whitespace().map(|word| word.parse::<f64>().unwrap());
        let mut next = || numbers.next().unwrap();
        let mut job = Job {
            tan_width: next(),
            tan_depth: next(),
            m: next(),
            k: next(),
            heavy_end: next(),
            split: next(),
            fluid: next(),
            transfer: next(),
            at_distance: next(),
            falls_over: next(),
            length: next(),
            width: next(),
            crown_along: next(),
            crown_across: next(),
            cell: next(),
            solids: next(),
            passes: vec![],
            scale: 1.0,
        };
        for _ in 0..next() as usize {
            let pass = (0..next() as usize).map(|_| {
                let time = next();
                let mut v3 = || [next(), next(), next()];
                Pose { time, nozzle: v3(), aim: v3(), fan: v3() }
            });
            let pass = pass.collect();
            job.passes.push(pass);
        }
        let (n, mut sum) = (2000, 0.0);
        for i in 0..n {
            for j in 0..n {
                let middle = |i: usize| 2.0 * (i as f64 + 0.5) / n as f64 - 1.0;
                sum += job.pattern(middle(i), middle(j));
            }
        }
        job.scale = (n * n) as f64 / 4.0 / sum;
        job
    }

    fn pattern(&self, u: f64, v: f64) -> f64 {
        let q = 1.0 - u * u;
        let rest = 1.0 - v * v / q;
        if q <= 0.0 || rest <= 0.0 {
            return 0.0;
        }
        let fault = (1.0 + self.heavy_end * u) * (1.0 - self.split + self.split * (2.0 * self.m + 3.0) * u * u);
        self.scale * fault * q.powf(self.m - 0.5) * rest.powf(self.k)
    }

    fn transfer_at(&self, z: f64) -> f64 {
        let share = if self.falls_over > 0.0 {
            self.transfer * (-(z - self.at_distance) / self.falls_over).exp()
        } else {
            self.transfer
        };
        share.min(0.95)
    }

    fn columns(&self) -> usize {
        (self.length / self.cell).ceil() as usize
    }

    fn rows(&self) -> usize {
        (self.width / self.cell).ceil() as usize
    }

    /// Cells whose centres lie between two places.
    fn cells(&self, from: f64, to: f64, count: usize) -> std::ops::Range<usize> {
        let inside = |cell: f64| cell.clamp(0.0, count as f64) as usize;
        inside((from / self.cell - 0.5).ceil())..inside((to / self.cell - 0.5).floor() + 1.0)
    }

    fn centre(&self, i: usize) -> f64 {
        (i as f64 + 0.5) * self.cell
    }

    /// The poses in the middle of steps of 2 mm, and their seconds.
    fn steps(&self, pass: &[Pose], mut each: impl FnMut(f64, Pose)) {
        let way: f64 = pass
            .windows(2)
            .map(|p| {
                let step = [0, 1, 2].map(|i| p[1].nozzle[i] - p[0].nozzle[i]);
                dot(step, step).sqrt()
            })
            .sum();
        let (count, last) = ((way / 2.0).ceil() as usize, pass.len() - 1);
        let (step, mut i) = (pass[last].time / count as f64, 0);
        for n in 0..count {
            let time = (n as f64 + 0.5) * step;
            while i + 1 < last && pass[i + 1].time < time {
                i += 1;
            }
            let (a, b) = (&pass[i], &pass[i + 1]);
            let share = (time - a.time) / (b.time - a.time);
            let aim = unit(between(a.aim, b.aim, share));
            let fan = between(a.fan, b.fan, share);
            let along = dot(fan, aim);
            let fan = unit([0, 1, 2].map(|i| fan[i] - along * aim[i]));
            each(step, Pose { time, nozzle: between(a.nozzle, b.nozzle, share), aim, fan });
        }
    }

    /// A flat panel under a gun held square to it.
    fn square(&self, film: &mut [f64]) {
        for pass in &self.passes {
            self.steps(pass, |seconds, pose| {
                let [x, y, h] = pose.nozzle;
                let (fan, across) = (pose.fan, cross(pose.aim, pose.fan));
                let (a, b) = (h * self.tan_width, h * self.tan_depth);
                let reach = [0, 1].map(|i| (fan[i] * a).abs() + (across[i] * b).abs());
                let dose = 1000.0 * self.solids * seconds * self.fluid * self.transfer_at(h) / (a * b);
                let columns = self.cells(x - reach[0], x + reach[0], self.columns());
                for row in self.cells(y - reach[1], y + reach[1], self.rows()) {
                    let dy = self.centre(row) - y;
                    for column in columns.clone() {
                        let dx = self.centre(column) - x;
                        let (u, v) = ((dx * fan[0] + dy * fan[1]) / a, (dx * across[0] + dy * across[1]) / b);
                        film[row * self.columns() + column] += dose * self.pattern(u, v);
                    }
                }
            });
        }
    }

    /// Height and slope of a crown across a span.
    fn crown(rise: f64, span: f64, at: f64) -> (f64, f64) {
        let x = 2.0 * at / span - 1.0;
        (rise * (1.0 - x * x), -4.0 * rise * x / span)
    }

    /// A crowned panel under a gun in any pose.
    fn general(&self, film: &mut [f64]) {
        let lowest = self.crown_along.min(0.0) + self.crown_across.min(0.0);
        let highest = self.crown_along.max(0.0) + self.crown_across.max(0.0);
        for pass in &self.passes {
            self.steps(pass, |seconds, pose| {
                let (fan, across) = (pose.fan, cross(pose.aim, pose.fan));
                let (mut least, mut most) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
                for (s, t) in [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)] {
                    let ray =
                        [0, 1, 2].map(|i| pose.aim[i] + s * self.tan_width * fan[i] + t * self.tan_depth * across[i]);
                    for height in [lowest, highest] {
                        let length = ((height - pose.nozzle[2]) / ray[2].min(-1e-3)).min(2000.0);
                        for i in [0, 1] {
                            let hit = pose.nozzle[i] + length * ray[i];
                            (least[i], most[i]) = (least[i].min(hit), most[i].max(hit));
                        }
                    }
                }
                let dose = 1000.0 * self.solids * seconds * self.fluid / (self.tan_width * self.tan_depth);
                let columns = self.cells(least[0], most[0], self.columns());
                for row in self.cells(least[1], most[1], self.rows()) {
                    let y = self.centre(row);
                    let (high, slope_y) = Self::crown(self.crown_across, self.width, y);
                    for column in columns.clone() {
                        let x = self.centre(column);
                        let (height, slope_x) = Self::crown(self.crown_along, self.length, x);
                        let ray = [x - pose.nozzle[0], y - pose.nozzle[1], height + high - pose.nozzle[2]];
                        let z = dot(ray, pose.aim);
                        let facing = -dot(unit([-slope_x, -slope_y, 1.0]), ray);
                        if z <= 0.0 || facing <= 0.0 {
                            continue;
                        }
                        let (u, v) = (dot(ray, fan) / (z * self.tan_width), dot(ray, across) / (z * self.tan_depth));
                        let flux = self.pattern(u, v);
                        if flux > 0.0 {
                            film[row * self.columns() + column] +=
                                dose * self.transfer_at(z) * flux * facing / (z * z * z);
                        }
                    }
                }
            });
        }
    }
}

fn main() {
    let [_, kind, job, out] = std::env::args().collect::<Vec<_>>().try_into().expect("square|general JOB FILM");
    let job = Job::read(&job);
    let mut film = vec![];
    for _ in std::io::stdin().lock().lines() {
        let start = std::time::Instant::now();
        film = vec![0.0; job.columns() * job.rows()];
        if kind == "square" {
            job.square(&mut film)
        } else {
            job.general(&mut film)
        }
        println!("{}", start.elapsed().as_secs_f64() * 1000.0);
        std::io::stdout().flush().unwrap();
    }
    let bytes: Vec<u8> = film.iter().flat_map(|film: &f64| film.to_le_bytes()).collect();
    std::fs::write(out, bytes).unwrap();
}
