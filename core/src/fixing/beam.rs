//! Straight beams on any number of supports: reactions, moments and deflections.
//!
//! Clapeyron's three-moment equation for the moments over the supports, then each span and overhang by integrating
//! its moment twice (handbook formulas are special cases of it; the tests check both). Supports do not sink, the beam
//! is the same all along, and shear's share of the deflection is left out. Floats in any consistent units: inches,
//! pounds-force and pounds per square inch, or metres, newtons and pascals. Loads and deflections are positive
//! downwards, reactions upwards, moments where the beam sags.

/// A load on a beam.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Load {
    /// A force at a point.
    Point {
        /// Where, from the left end.
        at: f64,
        /// How much.
        force: f64,
    },
    /// A load spread evenly between two points.
    Spread {
        /// Its left end.
        from: f64,
        /// Its right end.
        to: f64,
        /// How much a unit of length.
        per_length: f64,
    },
}

/// A beam.
#[derive(Clone, PartialEq, Debug)]
pub struct Beam {
    /// Its length.
    pub length: f64,
    /// Its supports, from the left end, in rising order.
    pub supports: Vec<f64>,
    /// Its loads.
    pub loads: Vec<Load>,
    /// Modulus of elasticity times second moment of area.
    pub stiffness: f64,
}

/// Why a beam cannot be worked.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum BeamProblem {
    /// The length or the stiffness is no positive number.
    #[error("the {0} is not above zero")]
    NotPositive(&'static str),
    /// Fewer than two supports: it would turn.
    #[error("a beam stands on at least two supports, and here {0} were given")]
    Supports(usize),
    /// Supports that are out of order, in one place, or off the beam.
    #[error("support {0} is off the beam, or not to the right of the one before it")]
    SupportOrder(usize),
    /// A load that is off the beam or no number.
    #[error("load {0} is off the beam, runs backwards, or is no number")]
    Load(usize),
}

/// The greatest value of something and where it is.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Peak {
    /// The value with the greatest size, with its sign.
    pub value: f64,
    /// Where, from the left end of the beam.
    pub at: f64,
}

/// One span between two supports, worked out.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Span {
    /// The greatest sagging moment in it; zero when it hogs throughout.
    pub moment: Peak,
    /// The greatest deflection in it.
    pub deflection: Peak,
}

/// A beam under its loads.
#[derive(Clone, PartialEq, Debug)]
pub struct Bent {
    /// The push of each support, upwards.
    pub reactions: Vec<f64>,
    /// The moment over each support.
    pub moments: Vec<f64>,
    /// Each span.
    pub spans: Vec<Span>,
    /// The greatest deflection of the whole beam, overhangs too.
    pub deflection: Peak,
    /// The greatest moment of the whole beam, of either sign.
    pub moment: Peak,
    segments: Vec<Segment>,
}

/// A stretch between supports, or an overhang looked at outwards from its support.
#[derive(Clone, PartialEq, Debug)]
struct Segment {
    origin: f64,
    /// 1 rightwards, -1 for the left overhang.
    way: f64,
    length: f64,
    /// Moment and shear at its start.
    moment: f64,
    shear: f64,
    loads: Vec<Load>,
    /// Slope at its start times the stiffness.
    slope: f64,
    stiffness: f64,
}

fn ramp(x: f64, from: f64, power: i32) -> f64 {
    if x > from { (x - from).powi(power) } else { 0.0 }
}

impl Load {
    /// The load as a stretch sees it: the part that lies in it, from its start.
    fn within(self, origin: f64, way: f64, length: f64, overhang: bool) -> Option<Self> {
        let local = |x: f64| (x - origin) * way;
        match self {
            Self::Point { at, force } => {
                let at = local(at);
                // Over a support it bends nothing: it goes straight into it (see `bend`).
                (at > 0.0 && (at < length || overhang)).then_some(Self::Point { at, force })
            }
            Self::Spread { from, to, per_length } => {
                let (a, b) = (local(from), local(to));
                let (from, to) = (a.min(b).max(0.0), a.max(b).min(length));
                (to > from).then_some(Self::Spread { from, to, per_length })
            }
        }
    }

    fn total(self) -> f64 {
        match self {
            Self::Point { force, .. } => force,
            Self::Spread { from, to, per_length } => per_length * (to - from),
        }
    }

    /// Moment of the load about the start of its stretch.
    fn about_start(self) -> f64 {
        match self {
            Self::Point { at, force } => force * at,
            Self::Spread { from, to, per_length } => per_length * (to * to - from * from) / 2.0,
        }
    }

    /// The load's terms of the three-moment equation, at the right and at the left end of a span of `l`:
    /// for a point load `P a (l^2 - a^2) / l` and `P b (l^2 - b^2) / l`.
    fn clapeyron(self, l: f64) -> (f64, f64) {
        match self {
            Self::Point { at, force } => {
                let b = l - at;
                (force * at * (l * l - at * at) / l, force * b * (l * l - b * b) / l)
            }
            Self::Spread { from, to, per_length } => {
                let sum = |x: f64| l * l * x * x / 2.0 - x.powi(4) / 4.0;
                let right = per_length * (sum(to) - sum(from)) / l;
                let left = per_length * (sum(l - from) - sum(l - to)) / l;
                (right, left)
            }
        }
    }
}

impl Segment {
    fn moment_at(&self, x: f64) -> f64 {
        self.moment + self.shear * x
            - self.loads.iter().fold(0.0, |sum, load| {
                sum + match *load {
                    Load::Point { at, force } => force * ramp(x, at, 1),
                    Load::Spread { from, to, per_length } => per_length * (ramp(x, from, 2) - ramp(x, to, 2)) / 2.0,
                }
            })
    }

    fn shear_at(&self, x: f64) -> f64 {
        self.shear
            - self.loads.iter().fold(0.0, |sum, load| {
                sum + match *load {
                    Load::Point { at, force } => {
                        if x > at {
                            force
                        } else {
                            0.0
                        }
                    }
                    Load::Spread { from, to, per_length } => per_length * (ramp(x, from, 1) - ramp(x, to, 1)),
                }
            })
    }

    /// The moment integrated once.
    fn turned(&self, x: f64) -> f64 {
        self.moment * x + self.shear * x * x / 2.0
            - self.loads.iter().fold(0.0, |sum, load| {
                sum + match *load {
                    Load::Point { at, force } => force * ramp(x, at, 2) / 2.0,
                    Load::Spread { from, to, per_length } => per_length * (ramp(x, from, 3) - ramp(x, to, 3)) / 6.0,
                }
            })
    }

    /// The moment integrated twice.
    fn dropped(&self, x: f64) -> f64 {
        self.moment * x * x / 2.0 + self.shear * x.powi(3) / 6.0
            - self.loads.iter().fold(0.0, |sum, load| {
                sum + match *load {
                    Load::Point { at, force } => force * ramp(x, at, 3) / 6.0,
                    Load::Spread { from, to, per_length } => per_length * (ramp(x, from, 4) - ramp(x, to, 4)) / 24.0,
                }
            })
    }

    fn slope_at(&self, x: f64) -> f64 {
        (self.slope - self.turned(x)) / self.stiffness
    }

    fn deflection_at(&self, x: f64) -> f64 {
        (self.slope * x - self.dropped(x)) / self.stiffness
    }

    /// Where its loads start and stop, with both its ends, in order.
    fn breaks(&self) -> Vec<f64> {
        let mut points = vec![0.0, self.length];
        for load in &self.loads {
            match *load {
                Load::Point { at, .. } => points.push(at),
                Load::Spread { from, to, .. } => points.extend([from, to]),
            }
        }
        points.sort_by(f64::total_cmp);
        points.dedup();
        points
    }

    fn peak(&self, x: f64, value: f64) -> Peak {
        Peak { value, at: self.origin + self.way * x }
    }

    fn deepest(&self) -> Peak {
        let mut best = self.peak(self.length, self.deflection_at(self.length));
        let mut take = |x: f64| {
            let value = self.deflection_at(x);
            if value.abs() > best.value.abs() {
                best = self.peak(x, value);
            }
        };
        for pair in self.breaks().windows(2) {
            // Within a piece the slope is a cubic at most: eight steps part its roots well enough, then bisection.
            let step = (pair[1] - pair[0]) / 8.0;
            for k in 0..8u8 {
                let (mut low, mut high) = (pair[0] + step * f64::from(k), pair[0] + step * f64::from(k + 1));
                take(high);
                let rising = self.slope_at(low) > 0.0;
                if rising == (self.slope_at(high) > 0.0) {
                    continue;
                }
                for _ in 0..60 {
                    let middle = f64::midpoint(low, high);
                    if (self.slope_at(middle) > 0.0) == rising {
                        low = middle;
                    } else {
                        high = middle;
                    }
                }
                take(f64::midpoint(low, high));
            }
        }
        best
    }

    /// The greatest sagging moment, and the greatest of either sign.
    fn greatest_moment(&self) -> (Peak, Peak) {
        let mut sag = self.peak(0.0, 0.0);
        let mut any = self.peak(0.0, self.moment);
        let mut take = |x: f64| {
            let value = self.moment_at(x);
            if value > sag.value {
                sag = self.peak(x, value);
            }
            if value.abs() > any.value.abs() {
                any = self.peak(x, value);
            }
        };
        for pair in self.breaks().windows(2) {
            take(pair[1]);
            // The shear is a straight line within a piece: its root is exact. Just inside, past a point load.
            let inside = (pair[1] - pair[0]) * 1e-12;
            let (left, right) = (self.shear_at(pair[0] + inside), self.shear_at(pair[1]));
            if (left > 0.0) != (right > 0.0) {
                take(pair[0] + (pair[1] - pair[0]) * left / (left - right));
            }
        }
        (sag, any)
    }
}

impl Beam {
    fn check(&self) -> Result<(), BeamProblem> {
        let positive = |value: f64| value.is_finite() && value > 0.0;
        if !positive(self.length) {
            return Err(BeamProblem::NotPositive("length"));
        }
        if !positive(self.stiffness) {
            return Err(BeamProblem::NotPositive("stiffness"));
        }
        if self.supports.len() < 2 {
            return Err(BeamProblem::Supports(self.supports.len()));
        }
        let on = |x: f64| x.is_finite() && (0.0..=self.length).contains(&x);
        for (i, at) in self.supports.iter().enumerate() {
            if !on(*at) || (i > 0 && *at <= self.supports[i - 1]) {
                return Err(BeamProblem::SupportOrder(i + 1));
            }
        }
        for (i, load) in self.loads.iter().enumerate() {
            let fits = match *load {
                Load::Point { at, force } => on(at) && force.is_finite(),
                Load::Spread { from, to, per_length } => on(from) && on(to) && from <= to && per_length.is_finite(),
            };
            if !fits {
                return Err(BeamProblem::Load(i + 1));
            }
        }
        Ok(())
    }

    fn segment(&self, origin: f64, way: f64, length: f64, overhang: bool) -> Segment {
        let loads = self.loads.iter().filter_map(|load| load.within(origin, way, length, overhang)).collect();
        Segment { origin, way, length, moment: 0.0, shear: 0.0, loads, slope: 0.0, stiffness: self.stiffness }
    }

    /// Works the beam.
    ///
    /// # Errors
    /// [`BeamProblem`] when it does not stand, or a load is off it.
    ///
    /// ```
    /// use hangtrue_core::fixing::beam::{Beam, Load};
    /// // 5 w L^4 / 384 E I, with everything 1.
    /// let load = Load::Spread { from: 0.0, to: 1.0, per_length: 1.0 };
    /// let beam = Beam { length: 1.0, supports: vec![0.0, 1.0], loads: vec![load], stiffness: 1.0 };
    /// let bent = beam.bend().unwrap();
    /// assert!((bent.deflection.value - 5.0 / 384.0).abs() < 1e-12);
    /// ```
    pub fn bend(&self) -> Result<Bent, BeamProblem> {
        self.check()?;
        let n = self.supports.len();
        let (first, last) = (self.supports[0], self.supports[n - 1]);
        let overhang = |mut segment: Segment| {
            segment.moment = -segment.loads.iter().map(|load| load.about_start()).sum::<f64>();
            segment.shear = segment.loads.iter().map(|load| load.total()).sum();
            segment
        };
        let mut left = overhang(self.segment(first, -1.0, first, true));
        let mut right = overhang(self.segment(last, 1.0, self.length - last, true));
        let mut spans: Vec<Segment> =
            self.supports.windows(2).map(|pair| self.segment(pair[0], 1.0, pair[1] - pair[0], false)).collect();

        let moments = moments_over_supports(&spans, left.moment, right.moment);
        let mut reactions = vec![0.0; n];
        for load in &self.loads {
            // What stands straight over a support goes straight into it.
            if let Load::Point { at, force } = *load
                && let Some(i) = self.supports.iter().position(|support| (support - at).abs() <= 0.0)
            {
                reactions[i] += force;
            }
        }
        for (i, span) in spans.iter_mut().enumerate() {
            let total: f64 = span.loads.iter().map(|load| load.total()).sum();
            let about: f64 = span.loads.iter().map(|load| load.about_start()).sum();
            span.moment = moments[i];
            span.shear = total - about / span.length + (moments[i + 1] - moments[i]) / span.length;
            span.slope = span.dropped(span.length) / span.length;
            reactions[i] += span.shear;
            reactions[i + 1] += total - span.shear;
        }
        reactions[0] += left.shear;
        reactions[n - 1] += right.shear;
        left.slope = -spans[0].slope_at(0.0) * self.stiffness;
        right.slope = spans[n - 2].slope_at(spans[n - 2].length) * self.stiffness;

        let worked: Vec<Span> =
            spans.iter().map(|span| Span { moment: span.greatest_moment().0, deflection: span.deepest() }).collect();
        let mut segments = vec![left];
        segments.append(&mut spans);
        segments.push(right);
        let greatest = |peaks: Vec<Peak>| {
            peaks.into_iter().max_by(|a, b| a.value.abs().total_cmp(&b.value.abs())).unwrap_or_default()
        };
        let real = || segments.iter().filter(|segment| segment.length > 0.0);
        let deflection = greatest(real().map(Segment::deepest).collect());
        let moment = greatest(real().map(|segment| segment.greatest_moment().1).collect());
        Ok(Bent { reactions, moments, spans: worked, deflection, moment, segments })
    }
}

impl Bent {
    /// The deflection at a point of the beam.
    pub fn deflection_at(&self, x: f64) -> f64 {
        let holds = |segment: &&Segment| {
            let local = (x - segment.origin) * segment.way;
            (0.0..=segment.length).contains(&local)
        };
        self.segments
            .iter()
            .find(holds)
            .map_or(0.0, |segment| segment.deflection_at((x - segment.origin) * segment.way))
    }

    /// The moment at a point of the beam.
    pub fn moment_at(&self, x: f64) -> f64 {
        let holds = |segment: &&Segment| {
            let local = (x - segment.origin) * segment.way;
            (0.0..=segment.length).contains(&local)
        };
        self.segments.iter().find(holds).map_or(0.0, |segment| segment.moment_at((x - segment.origin) * segment.way))
    }
}

/// Solves the three-moment equations: the moments over the supports, those at both ends given by the overhangs.
fn moments_over_supports(spans: &[Segment], left: f64, right: f64) -> Vec<f64> {
    let n = spans.len() + 1;
    let mut moments = vec![0.0; n];
    moments[0] = left;
    moments[n - 1] = right;
    // Forward sweep of the tridiagonal system over the inner supports.
    let (mut ratio, mut value) = (vec![0.0; n], vec![0.0; n]);
    value[0] = left;
    for i in 1..n - 1 {
        let (before, after) = (&spans[i - 1], &spans[i]);
        let terms: f64 = before.loads.iter().map(|load| load.clapeyron(before.length).0).sum::<f64>()
            + after.loads.iter().map(|load| load.clapeyron(after.length).1).sum::<f64>();
        let pivot = 2.0 * (before.length + after.length) - before.length * ratio[i - 1];
        ratio[i] = after.length / pivot;
        value[i] = (-terms - before.length * value[i - 1]) / pivot;
    }
    for i in (1..n - 1).rev() {
        moments[i] = value[i] - ratio[i] * moments[i + 1];
    }
    moments
}
