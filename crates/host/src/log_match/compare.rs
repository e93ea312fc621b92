//! Gives the rows of a log to the series of the forms, by time first and by settings within it.

use super::item::{Item, Span};
use super::{Found, Held, same};
use crate::job_file::Beside;

/// Compares, the log's clock being ahead by so many milliseconds.
pub(crate) fn compare(
    spans: &[Span],
    items: &[Item],
    ahead_ms: i64,
    within_ms: i64,
    asked: &Beside,
) -> Found {
    let at = |item: &Item| item.at_ms - ahead_ms;
    let (first, last) = (items.first().map(at), items.last().map(at));
    let mut held: Vec<Held> = spans
        .iter()
        .map(|span| Held {
            span: span.clone(),
            agree: 0,
            rows: None,
            last_at: None,
            others: Vec::new(),
            reached: first.is_some_and(|first| first <= span.from_ms)
                && last.is_some_and(|last| last >= span.end_ms),
        })
        .collect();
    let mut alone = Vec::new();
    for item in items {
        let time = at(item);
        let near = |one: &Held| time >= one.span.from_ms - within_ms && time <= one.span.end_ms + within_ms;
        let fits = |one: &Held| near(one) && same(&one.span.setting, &item.setting, asked);
        // A series that still lacks discharges goes before one that has them all: hands are slower than clocks.
        let place = held
            .iter()
            .position(|one| fits(one) && one.agree < one.span.count)
            .or_else(|| held.iter().rposition(fits));
        let other = || {
            held.iter()
                .position(|one| near(one) && time <= one.span.end_ms)
                .or_else(|| held.iter().rposition(near))
        };
        match place {
            Some(index) => {
                if let Some(one) = held.get_mut(index) {
                    one.agree = one.agree.saturating_add(item.count);
                    one.last_at = Some(item.at.clone());
                    one.rows = Some(match one.rows {
                        Some((source, from, to)) if source == item.source => {
                            (source, from.min(item.first_row), to.max(item.last_row))
                        }
                        Some(rows) => rows,
                        None => (item.source, item.first_row, item.last_row),
                    });
                }
            }
            None => match other() {
                Some(index) => {
                    if let Some(one) = held.get_mut(index) {
                        one.others.push(item.clone());
                    }
                }
                None => alone.push(item.clone()),
            },
        }
    }
    // What has other settings beside a whole series was applied beside it.
    for one in &mut held {
        one.reached |= one.agree > 0;
        if one.agree > 0 {
            alone.append(&mut one.others);
        }
    }
    alone.sort_by_key(|item| (item.source, item.first_row));
    Found { held, alone }
}
