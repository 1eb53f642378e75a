//! Small tables of text.

/// Rows under a head, columns padded to their widest cell; the last is left ragged.
pub(crate) fn table(head: &[&str], rows: &[Vec<String>]) -> String {
    let wide = |column: usize| {
        let cells =
            rows.iter().filter_map(|row| row.get(column)).map(|c| c.chars().count());
        cells.chain([head[column].chars().count()]).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..head.len()).map(wide).collect();
    let line = |cells: Vec<&str>| {
        let padded = cells.iter().enumerate().map(|(column, cell)| {
            if column + 1 == widths.len() {
                (*cell).to_owned()
            } else {
                format!("{cell:<width$}", width = widths[column])
            }
        });
        format!("  {}\n", padded.collect::<Vec<_>>().join("  ").trim_end())
    };
    let mut text = line(head.to_vec());
    for row in rows {
        text.push_str(&line(row.iter().map(String::as_str).collect()));
    }
    text
}

/// A text cut to a width, with an ellipsis where something is gone.
pub(crate) fn cut(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    let kept: String = text.chars().take(width.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}
