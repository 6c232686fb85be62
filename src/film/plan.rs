//! What is to be sprayed: panel, gun, paints, coats and a hand, in plain values. [`Plan::new`] checks what the film
//! relies on. Knows nothing of files or colour.

use crate::error::Problem;
use crate::gun::Gun;
use crate::panel::Panel;
use crate::strokes::{Coat, Hand};
use crate::units::{Fraction, Micrometres, Minutes, PascalSeconds};
use crate::wet::{Drying, Flow};

/// One paint, as far as its film goes.
#[derive(Debug, Clone, PartialEq)]
pub struct Paint {
    /// Name by which the coats call it.
    pub name: String,
    /// Share of the wet paint that stays as dry film.
    pub solids_by_volume: Fraction,
    /// Most wet film that holds on a standing panel.
    pub sag_limit: Micrometres,
    /// How long the film stays open: paint that comes later does not melt into it.
    pub open_time: Minutes,
    /// The solvent falls to 1/e over this time.
    pub solvent_leaves_over: Minutes,
    /// Viscosity on the panel, just after landing.
    pub viscosity: PascalSeconds,
    /// The viscosity rises e-fold over this time.
    pub thickens_over: Minutes,
}

impl Paint {
    /// How it dries.
    pub fn drying(&self) -> Drying {
        Drying { open_time: self.open_time.seconds(), leaves_over: self.solvent_leaves_over.seconds() }
    }

    /// How it flows on the panel.
    pub fn flow(&self) -> Flow {
        let thickens_over = self.thickens_over.seconds();
        Flow { sag_limit: self.sag_limit, viscosity: self.viscosity, thickens_over }
    }
}

/// A panel, a gun, paints, coats in their order, and the hand that sprays them.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    pub(crate) panel: Panel,
    pub(crate) gun: Gun,
    pub(crate) paints: Vec<Paint>,
    pub(crate) coats: Vec<Coat>,
    pub(crate) hand: Hand,
}

impl Plan {
    /// A plan whose coats all have a paint and whose panel can be divided into cells.
    ///
    /// # Errors
    /// Where a coat names a paint that is not among `paints`, or a cell has no size.
    pub fn new(panel: Panel, gun: Gun, paints: Vec<Paint>, coats: Vec<Coat>, hand: Hand) -> Result<Self, Problem> {
        if !(panel.cell.0 > 0.0 && panel.length.0 > 0.0 && panel.width.0 > 0.0) {
            let given = format!("cells of {} mm on {} by {} mm", panel.cell.0, panel.length.0, panel.width.0);
            return Err(Problem::new("panel.cell_mm", given, "above 0 mm", "Give the panel and its cells a size."));
        }
        for (i, coat) in coats.iter().enumerate() {
            if !paints.iter().any(|paint| paint.name == coat.paint) {
                let names = paints.iter().map(|paint| paint.name.as_str()).collect::<Vec<_>>().join(", ");
                let remedy = "Name one of the paints, or add this one.";
                return Err(Problem::new(format!("coats[{i}].paint"), coat.paint.as_str(), names, remedy));
            }
        }
        Ok(Self { panel, gun, paints, coats, hand })
    }

    /// What is sprayed.
    pub fn panel(&self) -> &Panel {
        &self.panel
    }

    /// What it is sprayed with.
    pub fn gun(&self) -> &Gun {
        &self.gun
    }

    /// The paints.
    pub fn paints(&self) -> &[Paint] {
        &self.paints
    }

    /// The coats in their order.
    pub fn coats(&self) -> &[Coat] {
        &self.coats
    }

    /// Whose hand.
    pub fn hand(&self) -> &Hand {
        &self.hand
    }

    /// The place among the paints of a coat's paint.
    pub fn paint_of(&self, coat: &Coat) -> usize {
        self.paints.iter().position(|paint| paint.name == coat.paint).expect("checked when the plan was made")
    }
}
