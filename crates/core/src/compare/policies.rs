//! What a shop decides once and every comparison asks: minutes of handling, rates, limits of weight,
//! and how much of a leftover's worth is credited.

/// A number that a shop decides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Policy {
    /// Money for an hour of one person.
    Labour,
    /// Minutes to pull a sheet that one person carries.
    PullByOne,
    /// Minutes to pull a sheet that takes two people.
    PullByTwo,
    /// Minutes to pull a sheet that takes a lifter.
    PullByLifter,
    /// The heaviest sheet that one person carries, kg.
    OneCarries,
    /// The heaviest sheet that two people carry, kg.
    TwoCarry,
    /// The longest sheet that one person handles, mm.
    OneReaches,
    /// Minutes to push a fresh sheet against the stops.
    AgainstStops,
    /// Minutes to square up a remnant.
    SquareUp,
    /// Minutes to set the machine up for a sheet.
    SetUp,
    /// Minutes to label a leftover and bring it back.
    Return,
    /// Minutes to label what is left of a bar and put it back beside the saw.
    ReturnBar,
    /// Minutes to dress what one tab leaves.
    TabCleanUp,
    /// Minutes to clear a skeleton away.
    Skeleton,
    /// Share of what pulling a leftover again is charged that it is credited with at most, 0 to 1.
    CreditShare,
}

/// What a policy is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PolicyUnit {
    /// The shop's currency for an hour.
    MoneyPerHour,
    /// Minutes.
    Minutes,
    /// Kilograms.
    Kilograms,
    /// Millimetres.
    Millimetres,
    /// 0 to 1.
    Share,
}

impl Policy {
    /// All of them, in the order that people meet them.
    pub const ALL: [Self; 15] = [
        Self::Labour,
        Self::PullByOne,
        Self::PullByTwo,
        Self::PullByLifter,
        Self::OneCarries,
        Self::TwoCarry,
        Self::OneReaches,
        Self::AgainstStops,
        Self::SquareUp,
        Self::SetUp,
        Self::Return,
        Self::ReturnBar,
        Self::TabCleanUp,
        Self::Skeleton,
        Self::CreditShare,
    ];

    /// How files name it.
    pub fn key(self) -> &'static str {
        match self {
            Self::Labour => "labour_per_hour",
            Self::PullByOne => "pull_by_one_min",
            Self::PullByTwo => "pull_by_two_min",
            Self::PullByLifter => "pull_by_lifter_min",
            Self::OneCarries => "one_carries_kg",
            Self::TwoCarry => "two_carry_kg",
            Self::OneReaches => "one_reaches_mm",
            Self::AgainstStops => "against_stops_min",
            Self::SquareUp => "square_up_min",
            Self::SetUp => "set_up_min",
            Self::Return => "return_min",
            Self::ReturnBar => "return_bar_min",
            Self::TabCleanUp => "tab_clean_up_min",
            Self::Skeleton => "skeleton_min",
            Self::CreditShare => "credit_share",
        }
    }

    /// The policy that files name so.
    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.key() == key)
    }

    /// What it is counted in.
    pub fn unit(self) -> PolicyUnit {
        match self {
            Self::Labour => PolicyUnit::MoneyPerHour,
            Self::OneCarries | Self::TwoCarry => PolicyUnit::Kilograms,
            Self::OneReaches => PolicyUnit::Millimetres,
            Self::CreditShare => PolicyUnit::Share,
            _ => PolicyUnit::Minutes,
        }
    }

    /// Whether a shop may decide so: a number from 0 up to what no shop exceeds.
    pub fn allows(self, value: f64) -> bool {
        let most = match self.unit() {
            PolicyUnit::MoneyPerHour | PolicyUnit::Kilograms | PolicyUnit::Millimetres => 100_000.0,
            PolicyUnit::Minutes => 600.0,
            PolicyUnit::Share => 1.0,
        };
        (0.0..=most).contains(&value)
    }

    fn index(self) -> usize {
        self as usize
    }
}

/// A value for every policy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Policies([f64; Policy::ALL.len()]);

impl Policies {
    /// The policies with the value of each given by `value`.
    pub fn of(value: impl Fn(Policy) -> f64) -> Self {
        Self(Policy::ALL.map(value))
    }

    /// The value of one.
    pub fn get(&self, policy: Policy) -> f64 {
        self.0[policy.index()]
    }

    /// Decides one; what a shop may not decide changes nothing, and is answered with false.
    pub fn set(&mut self, policy: Policy, value: f64) -> bool {
        let may = policy.allows(value);
        if may {
            self.0[policy.index()] = value;
        }
        may
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_policy_has_a_key_and_a_place_of_its_own() {
        for (i, policy) in Policy::ALL.into_iter().enumerate() {
            assert_eq!(policy.index(), i);
            assert_eq!(Policy::of_key(policy.key()), Some(policy));
        }
    }

    #[test]
    fn what_no_shop_decides_changes_nothing() {
        let mut policies = Policies::of(|_| 0.5);
        for odd in [-1.0, f64::NAN, f64::INFINITY, 1.01] {
            assert!(!policies.set(Policy::CreditShare, odd), "{odd}");
        }
        assert!(policies.set(Policy::CreditShare, 0.7) && policies.set(Policy::SquareUp, 5.0));
        assert_eq!(policies.get(Policy::CreditShare), 0.7);
        assert_eq!(policies.get(Policy::Labour), 0.5);
    }
}
