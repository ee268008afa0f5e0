//! The known colours of a colour chart.

/// One patch of a chart with its measured colour.
#[derive(Clone, Debug, PartialEq)]
pub struct Swatch {
    /// The patch's name, as its maker or measurer gave it.
    pub id: String,
    /// XYZ under D50, Y of the perfect diffuser = 1.
    pub xyz: [f64; 3],
}

/// What a chart is known to show.
#[derive(Clone, Debug, PartialEq)]
pub struct ChartValues {
    /// Rows and columns of the upright chart, where the names or the file say.
    pub grid: Option<(usize, usize)>,
    /// The patches row by row from the upright chart's top left; without a grid, in the file's order.
    pub swatches: Vec<Swatch>,
}
