//! What no way can cost less than: proven from weights, areas, charges and lengths alone.
//!
//! A sheet of `m` kg that is charged `w` and of which `p` kg go (parts and their slots, which never
//! overlap) leaves `m − p` kg. Either some of that goes back: then it is brought back, and credited with
//! no more than the share of its price a kilogram and that share of `w` in all, while the rest brings
//! scrap. Or nothing does: then the skeleton is cleared away and all of it brings scrap. Parts grown by
//! their slot and half the web are disjoint too and lie in the metal, which bounds what goes on a sheet.
//! One sheet that takes all costs at least its cost for all; of several, the cheapest that the areas
//! allow is found exactly, with areas rounded in their favour.

use super::account::{handling, set_up};
use super::load::Loader;
use super::policies::{Policies, Policy};
use super::question::{Candidate, Question};
use crate::cutting::CutFacts;
use crate::cutting::cut::narrowest;
use crate::cutting::path::beam_path;
use crate::leftover::{CRUMB, gone_with};
use crate::part::Part;
use crate::shape::{Edge, Loop, PartSpace, Pose, Vector};

/// In how many pieces the area of the order is counted out to several sheets.
const PIECES: usize = 120;

/// Areas and weights may be off by this share and count as equal.
const NOISE: f64 = 1e-6;

/// What is proven of a question's sheets.
pub(super) struct Bounds {
    costs: Vec<Net>,
    /// What no way costs less than, in what ways are ranked by: money, or kilograms where prices are
    /// missing.
    pub(super) whole: f64,
}

impl Bounds {
    pub(super) fn of(loader: &Loader<'_>) -> Self {
        let question = loader.question;
        let order = Order::of(question);
        let costs: Vec<Net> =
            (0..question.candidates.len()).map(|c| Net::of(loader, c, &order)).collect();
        let whole = question.counts();
        let alone = costs
            .iter()
            .enumerate()
            .filter(|(c, net)| net.area >= order.grown && loader.may_take_all(*c, &whole));
        let alone = alone.map(|(_, net)| net.at(order.gone)).fold(f64::INFINITY, f64::min);
        let metal = alone.min(several(question, &costs, &order));
        let whole = if metal.is_finite() { (cutting(question) + metal).max(0.0) } else { 0.0 };
        Self { costs, whole }
    }

    /// What a sheet costs at least where so much of its area (mm²) goes, but for cutting.
    pub(super) fn sheet(&self, candidate: usize, gone: f64) -> f64 {
        self.costs[candidate].at(gone)
    }
}

/// What all parts take of the metal they are cut from, mm².
struct Order {
    /// With their slots.
    gone: f64,
    /// With their slots and half the web.
    grown: f64,
    /// The least share of the one in the other that a part has.
    share: f64,
}

impl Order {
    fn of(question: &Question) -> Self {
        let c = &question.clearances;
        let edge = c.edge.own_cut.min(c.edge.sheared).min(c.edge.mill);
        let web = (0.5 * c.web).min(edge).max(0.0);
        let area = |part: &Part, by: f64| {
            let shown = part.region.placed(&Pose::new(Vector::default(), 0.0, false));
            gone_with(&shown, by).map_or(part.region.area(), |gone| gone.area()) * (1.0 - NOISE)
        };
        let mut order = Self { gone: 0.0, grown: 0.0, share: 1.0 };
        for want in question.wanted.iter().filter(|w| w.count > 0) {
            let (gone, grown) = (area(&want.part, c.kerf), area(&want.part, c.kerf + web));
            order.gone += gone * want.count as f64;
            order.grown += grown * want.count as f64;
            order.share = order.share.min(gone / grown.max(gone).max(f64::MIN_POSITIVE));
        }
        order
    }
}

/// What a sheet costs, by the area that goes of it.
#[derive(Clone, Copy)]
struct Net {
    count: usize,
    /// mm².
    area: f64,
    /// kg of a mm².
    density: f64,
    /// Whatever is cut from it.
    fixed: f64,
    charged: f64,
    /// To bring something back, and to clear the skeleton away.
    returned: f64,
    cleared: f64,
    /// Credited for a kilogram that goes back, at most.
    back: f64,
    /// Credited for all that goes back, at most.
    most_back: f64,
    scrap: f64,
}

impl Net {
    fn of(loader: &Loader<'_>, index: usize, order: &Order) -> Self {
        let question = loader.question;
        let c: &Candidate = &question.candidates[index];
        let (policies, share) = (&question.policies, question.policies.get(Policy::CreditShare));
        let area = c.sheet.area() * (1.0 + NOISE);
        let made_of = c.sheet.made_of.as_ref();
        let density = made_of.map_or(0.0, |m| m.weight(1.0));
        if !question.is_priced() {
            let charged = c.kg();
            return Self {
                count: c.count,
                area,
                density,
                fixed: 0.0,
                charged,
                returned: 0.0,
                cleared: 0.0,
                back: share,
                most_back: share * charged,
                scrap: 0.0,
            };
        }
        let set_up = question.cut.as_ref().map_or(0.0, |(_, f)| set_up(policies, f).amount());
        let by_hand: f64 = handling(c, policies).iter().map(super::Item::amount).sum();
        let charged = loader.charge(index).map_or(0.0, |item| item.amount());
        // Where the order could use the metal up but for crumbs, nothing need be cleared away.
        let used_up = area - order.gone <= CRUMB;
        let hands = |policy| hands(policies, policy);
        Self {
            count: c.count,
            area,
            density,
            fixed: by_hand + set_up,
            charged,
            returned: hands(Policy::Return),
            cleared: if used_up { 0.0 } else { hands(Policy::Skeleton) },
            back: share * c.keeping.price.max(c.keeping.scrap),
            most_back: share * charged,
            scrap: c.keeping.scrap,
        }
    }

    /// Cost where so much of its area goes, at least.
    fn at(&self, gone: f64) -> f64 {
        let left = (self.area - gone).max(0.0) * self.density;
        let back = if self.back > self.scrap {
            left.min(self.most_back.max(0.0) / self.back)
        } else {
            0.0
        };
        let kept = self.returned - self.back * back - self.scrap * (left - back);
        let cleared = self.cleared - self.scrap * left;
        self.fixed + self.charged + kept.min(cleared)
    }
}

/// What a minute by hand costs, so many of them as a policy says.
fn hands(policies: &Policies, minutes: Policy) -> f64 {
    policies.get(minutes) * policies.get(Policy::Labour) / 60.0
}

/// The least that two sheets or more cost which together have room for the order, by areas alone.
fn several(question: &Question, sheets: &[Net], order: &Order) -> f64 {
    let piece = order.grown / PIECES as f64;
    let most: usize = question.wanted.iter().map(|w| w.count).sum();
    if most < 2 || piece <= 0.0 {
        return f64::INFINITY;
    }
    // The least cost of so many pieces of the area, from none, one, or more sheets.
    let mut least = vec![[f64::INFINITY; 3]; PIECES + 1];
    least[0][0] = 0.0;
    for sheet in sheets {
        // A sheet on which more than i − 1 pieces lie gives up to i of them.
        let room = ((sheet.area / piece) as usize + 1).min(PIECES);
        let cost = |i: usize| sheet.at((i - 1) as f64 * piece * order.share);
        let costs: Vec<f64> = (1..=room).map(cost).collect();
        for _ in 0..sheet.count.min(most).min(PIECES) {
            let mut better = false;
            for have in (0..PIECES).rev() {
                for (i, cost) in costs.iter().enumerate() {
                    let then = (have + i + 1).min(PIECES);
                    for used in 0..3 {
                        let now = least[have][used] + cost;
                        let to = &mut least[then][(used + 1).min(2)];
                        if now < *to {
                            (*to, better) = (now, true);
                        }
                    }
                }
            }
            if !better {
                break;
            }
        }
    }
    least[PIECES][2]
}

/// What the machine takes at least: every contour as fast as the head can, from every corner to the next,
/// and a pierce for each. A tab saves less than the pierce after it takes.
fn cutting(question: &Question) -> f64 {
    let Some((_, facts)) = question.cut.as_ref().filter(|_| question.is_priced()) else {
        return 0.0;
    };
    let half = question.clearances.beam();
    let of = |w: &super::Want| {
        let contours = || w.part.region.loops().enumerate();
        let seconds: f64 = contours().map(|(i, l)| contour_seconds(l, i > 0, half, facts)).sum();
        let pierces = contours().filter(|(_, l)| !beam_path(*l, half).loops.is_empty()).count();
        let money = facts.honest(seconds).0 / 3600.0 * facts.feed.per_hour
            + pierces as f64 * facts.feed.per_pierce;
        money * w.count as f64
    };
    question.wanted.iter().map(of).sum()
}

/// Seconds that a contour takes at least, wherever it is started.
fn contour_seconds(contour: &Loop<PartSpace>, hole: bool, half: f64, facts: &CutFacts) -> f64 {
    let (feed, motion) = (&facts.feed, &facts.machine.motion);
    let small = hole && narrowest(contour) <= feed.small_below;
    let speed = if small { feed.small_speed } else { feed.speed };
    let of = |l: &Loop<PartSpace>| {
        // The second of three rounds without a stop: nowhere is it slower than one that starts and ends
        // at rest.
        let round: Vec<Edge<PartSpace>> = l.edges().collect();
        let rounds = [&round[..], &round[..], &round[..]].concat();
        let seconds = motion.seconds(&rounds, |_| speed);
        let cut: f64 = seconds[round.len()..2 * round.len()].iter().sum();
        cut + motion.touch_off_seconds + feed.pierce_seconds
    };
    beam_path(contour, half).loops.iter().map(of).sum()
}
