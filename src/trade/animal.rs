//! The classes of animal a farm sells, by species and sex.

use super::share::Species;
use super::vocabulary::Sex;

crate::words! {
    /// What kind of animal it is; it decides the usual dressing percentage.
    pub enum Class {
        /// Beef-bred castrated male.
        Steer = "steer", "steer";
        /// Beef-bred female that has not calved.
        Heifer = "heifer", "heifer";
        /// Castrated male of a dairy breed.
        DairySteer = "dairy_steer", "dairy steer";
        /// Female that has calved.
        Cow = "cow", "cow";
        /// Intact male of cattle.
        Bull = "bull", "bull";
        /// Castrated male hog.
        Barrow = "barrow", "barrow";
        /// Female hog that has not farrowed.
        Gilt = "gilt", "gilt";
        /// Female hog that has farrowed.
        Sow = "sow", "sow";
        /// Intact male hog.
        Boar = "boar", "boar";
        /// Sheep under a year.
        Lamb = "lamb", "lamb";
        /// Grown female sheep.
        Ewe = "ewe", "ewe";
        /// Grown intact male sheep.
        Ram = "ram", "ram";
        /// Goat under a year.
        Kid = "kid", "kid";
        /// Grown castrated goat.
        Wether = "wether", "wether";
        /// Grown female goat.
        Doe = "doe", "doe";
        /// Grown intact male goat.
        Buck = "buck", "buck";
    }
}

impl Class {
    /// The species the class belongs to.
    pub const fn species(self) -> Species {
        match self {
            Self::Steer | Self::Heifer | Self::DairySteer | Self::Cow | Self::Bull => Species::Beef,
            Self::Barrow | Self::Gilt | Self::Sow | Self::Boar => Species::Hog,
            Self::Lamb | Self::Ewe | Self::Ram => Species::Lamb,
            Self::Kid | Self::Wether | Self::Doe | Self::Buck => Species::Goat,
        }
    }
    /// The classes of one species, the usual one first.
    pub fn of(species: Species) -> impl Iterator<Item = Self> {
        Self::ALL.iter().copied().filter(move |class| class.species() == species)
    }
    /// The sex the class implies; lambs and kids are of any.
    pub const fn sex(self) -> Option<Sex> {
        match self {
            Self::Heifer | Self::Cow | Self::Gilt | Self::Sow | Self::Ewe | Self::Doe => Some(Sex::Female),
            Self::Bull | Self::Boar | Self::Ram | Self::Buck => Some(Sex::Male),
            Self::Steer | Self::DairySteer | Self::Barrow | Self::Wether => Some(Sex::Castrated),
            Self::Lamb | Self::Kid => None,
        }
    }
    /// Whether an animal of this class can be of that sex.
    pub fn allows(self, sex: Sex) -> bool {
        self.sex().is_none_or(|own| own == sex)
    }
    /// "Steer": the class at the beginning of a name, as in "Steer 211".
    pub fn title(self) -> String {
        let mut title = self.label().to_string();
        if let Some(first) = title.get_mut(0..1) {
            first.make_ascii_uppercase();
        }
        title
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_species_has_classes_and_every_class_one_species() {
        let counts: Vec<_> = Species::ALL.iter().map(|s| Class::of(*s).count()).collect();
        assert_eq!(counts, [5, 4, 3, 4]);
        assert_eq!(Class::of(Species::Hog).next(), Some(Class::Barrow));
    }

    #[test]
    fn a_steer_is_castrated_and_a_lamb_may_be_anything() {
        assert!(Class::Steer.allows(Sex::Castrated) && !Class::Steer.allows(Sex::Female));
        assert!(Sex::ALL.iter().all(|sex| Class::Lamb.allows(*sex)));
        assert_eq!(Class::DairySteer.title(), "Dairy steer");
    }
}
