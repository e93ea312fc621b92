//! Series in the batches in which a reader gave them.

use record::Series;

/// Series in the order of their file, in as many batches as they came in. A million of them are a third of a
/// gigabyte: they are joined once, where those of all files of a job come together.
#[derive(Debug, Default)]
pub struct Batches(Vec<Vec<Series>>);

impl Batches {
    /// Adds series behind those that are there.
    pub fn push(&mut self, batch: Vec<Series>) {
        if !batch.is_empty() {
            self.0.push(batch);
        }
    }

    /// Adds the batches of others behind those that are there.
    pub fn append(&mut self, others: Self) {
        self.0.extend(others.0);
    }

    /// All series.
    pub fn iter(&self) -> impl Iterator<Item = &Series> {
        self.0.iter().flatten()
    }

    /// How many series there are.
    pub fn len(&self) -> usize {
        self.0.iter().map(Vec::len).sum()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(Vec::is_empty)
    }

    /// Keeps the series of which this is true.
    pub fn retain(&mut self, keep: impl Fn(&Series) -> bool) {
        self.0.iter_mut().for_each(|batch| batch.retain(&keep));
    }

    /// Takes all series out.
    pub fn clear(&mut self) {
        self.0.clear();
    }

    /// Moves all series behind those of a list.
    pub fn join_to(self, list: &mut Vec<Series>) {
        let more = self.len();
        let mut batches = self.0.into_iter();
        if list.is_empty() {
            // Where one batch is all, nothing is moved.
            *list = batches.next().unwrap_or_default();
            list.reserve_exact(more - list.len());
        } else {
            // Files by the hundred: room for each alone would be a move of all for each.
            list.reserve(more);
        }
        batches.for_each(|batch| list.extend(batch));
    }

    /// All series in one list.
    pub fn into_vec(self) -> Vec<Series> {
        let mut list = Vec::new();
        self.join_to(&mut list);
        list
    }
}

/// The same series in the same order, in whatever batches they came.
impl PartialEq for Batches {
    fn eq(&self, other: &Self) -> bool {
        self.iter().eq(other.iter())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::{Application, Kilovolts, Origin, PointId, Polarity, RunKind, SeriesId, SourceId, Stated};

    fn series(row: u64) -> Series {
        Series {
            id: SeriesId::new(&format!("log#{row}")).unwrap(),
            point: PointId::new("P1").unwrap(),
            application: Application::Contact,
            polarity: Polarity::Positive,
            voltage_kv: Kilovolts::parse("4").unwrap(),
            count: 10,
            sparks: None,
            interval_s: None,
            single: None,
            state: None,
            mode: None,
            kind: RunKind::Compliance,
            monitoring: Stated::NotStated,
            tip: None,
            started: None,
            ended: None,
            tested_by: None,
            external_reference: None,
            remark: None,
            shots: Vec::new(),
            origin: Origin::rows(SourceId(0), row, row),
        }
    }

    fn batches(sizes: &[u64]) -> Batches {
        let mut rows = 1..;
        let mut batches = Batches::default();
        for size in sizes {
            batches.push((0..*size).map(|_| series(rows.next().unwrap())).collect());
        }
        batches
    }

    #[test]
    fn series_stay_in_order_however_they_are_parted_and_joined() {
        let whole = batches(&[6]);
        for sizes in [[1, 2, 3], [0, 6, 0], [5, 0, 1]] {
            let parted = batches(&sizes);
            assert!(parted == whole && parted.len() == 6 && !parted.is_empty());
            let mut list = vec![series(100)];
            parted.join_to(&mut list);
            assert!(list.iter().skip(1).eq(whole.iter()) && list.len() == 7);
            assert!(batches(&sizes).into_vec().iter().eq(whole.iter()));
        }
        assert!(batches(&[5]) != whole && batches(&[0, 0]).is_empty());
    }

    #[test]
    fn what_is_left_out_is_left_out_of_each_batch() {
        let mut odd = batches(&[2, 3]);
        odd.retain(|series| series.origin.rows.is_some_and(|rows| rows.first % 2 == 1));
        assert_eq!(odd.iter().map(|s| s.id.as_str()).collect::<Vec<_>>(), ["log#1", "log#3", "log#5"]);
    }
}
