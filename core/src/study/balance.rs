//! Orders in which no item is favoured by its place or by what goes before it.
//!
//! The rows of a Williams square: over one square every item stands once in every place, and over
//! one square of an even number of items, or two of an odd number, every item follows every other
//! equally often. Labels and rows are put into a random order for each square anew.
//! Source: Williams, "Experimental designs balanced for the estimation of residual effects of
//! treatments" (1949), construction from memory; the balance itself is tested.

use super::generator::Generator;

/// Gives one balanced order after another.
pub(super) struct BalancedOrders {
    items: usize,
    /// The rows still to be given, the next one last.
    rows: Vec<Vec<usize>>,
}

impl BalancedOrders {
    /// Orders of so many items.
    pub(super) const fn of(items: usize) -> BalancedOrders {
        BalancedOrders {
            items,
            rows: Vec::new(),
        }
    }

    /// The next order.
    pub(super) fn next(&mut self, generator: &mut Generator) -> Vec<usize> {
        if self.rows.is_empty() {
            self.rows = squares(self.items, generator);
        }
        self.rows.pop().unwrap_or_default()
    }
}

/// One square, or two when the number of items is odd: the second is the first read backwards.
/// The rows of a square stay together, so that places are balanced as early as can be.
fn squares(items: usize, generator: &mut Generator) -> Vec<Vec<usize>> {
    let labels = generator.order(items);
    let row = |start: usize| -> Vec<usize> {
        let places = (0..items).map(|place| (zigzag(place, items) + start) % items);
        places
            .filter_map(|item| labels.get(item).copied())
            .collect()
    };
    let mut forward: Vec<Vec<usize>> = (0..items).map(row).collect();
    generator.shuffle(&mut forward);
    if items.is_multiple_of(2) || items == 1 {
        return forward;
    }
    let mut backward: Vec<Vec<usize>> = (0..items).map(row).collect();
    backward.iter_mut().for_each(|row| row.reverse());
    generator.shuffle(&mut backward);
    forward.append(&mut backward);
    forward
}

/// 0, 1, n-1, 2, n-2, ...
const fn zigzag(place: usize, items: usize) -> usize {
    match place % 2 {
        1 => place.div_ceil(2),
        _ => (items - place / 2) % items,
    }
}
