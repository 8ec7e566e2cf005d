//! Which pattern takes how much of the flash.

use std::collections::BTreeMap;

use crate::design::Design;
use crate::score::Origin;
use crate::units::Bytes;

/// The bytes of each pattern's programs, largest first. What several share goes to the first.
pub(super) fn sizes(design: &Design) -> Vec<(String, Bytes)> {
    let image = &design.deck.image;
    let mut owners: BTreeMap<usize, String> = BTreeMap::new();
    for scene in &image.score.scenes {
        let owner = match scene.origin {
            Origin::Pattern(_) => scene.name.clone(),
            Origin::Steady(_) => "steady levels".to_string(),
        };
        for part in &scene.parts {
            owners.entry(part.program).or_insert_with(|| owner.clone());
        }
    }
    let mut sizes: BTreeMap<String, u32> = BTreeMap::new();
    for (program, owner) in owners {
        let lines = &image.score.programs[program].lines;
        let bytes: u32 = lines.iter().map(|line| image.format.size(&line.op).0).sum();
        *sizes.entry(owner).or_default() += bytes;
    }
    let mut sizes: Vec<_> = sizes
        .into_iter()
        .map(|(name, size)| (name, Bytes(size)))
        .collect();
    sizes.sort_by_key(|(_, size)| std::cmp::Reverse(*size));
    sizes
}
