//! What a reader gives, in the batches in which it came.

/// Things in the order of their file, in as many batches as they came in. A million series are a third of a gigabyte:
/// they are joined once, where those of all files of a job come together.
#[derive(Debug)]
pub struct Batches<T>(Vec<Vec<T>>);

impl<T> Default for Batches<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<T> Batches<T> {
    /// Adds a batch behind those that are there.
    pub fn push(&mut self, batch: Vec<T>) {
        if !batch.is_empty() {
            self.0.push(batch);
        }
    }

    /// Adds the batches of others behind those that are there.
    pub fn append(&mut self, others: Self) {
        self.0.extend(others.0);
    }

    /// All things.
    pub fn iter(&self) -> impl Iterator<Item = &T> {
        self.0.iter().flatten()
    }

    /// How many things there are.
    pub fn len(&self) -> usize {
        self.0.iter().map(Vec::len).sum()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(Vec::is_empty)
    }

    /// Keeps the things of which this is true.
    pub fn retain(&mut self, keep: impl Fn(&T) -> bool) {
        self.0.iter_mut().for_each(|batch| batch.retain(&keep));
    }

    /// Takes all out.
    pub fn clear(&mut self) {
        self.0.clear();
    }

    /// Moves all behind those of a list.
    pub fn join_to(self, list: &mut Vec<T>) {
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

    /// All in one list.
    pub fn into_vec(self) -> Vec<T> {
        let mut list = Vec::new();
        self.join_to(&mut list);
        list
    }
}

/// The same things in the same order, in whatever batches they came.
impl<T: PartialEq> PartialEq for Batches<T> {
    fn eq(&self, other: &Self) -> bool {
        self.iter().eq(other.iter())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn batches(sizes: &[u32]) -> Batches<u32> {
        let mut numbers = 1..;
        let mut batches = Batches::default();
        for size in sizes {
            batches.push(numbers.by_ref().take(*size as usize).collect());
        }
        batches
    }

    #[test]
    fn things_stay_in_order_however_they_are_parted_and_joined() {
        let whole = batches(&[6]);
        for sizes in [[1, 2, 3], [0, 6, 0], [5, 0, 1]] {
            let parted = batches(&sizes);
            assert!(parted == whole && parted.len() == 6 && !parted.is_empty());
            assert_eq!(batches(&sizes).into_vec(), [1, 2, 3, 4, 5, 6]);
            let mut list = vec![100];
            parted.join_to(&mut list);
            assert_eq!(list, [100, 1, 2, 3, 4, 5, 6]);
        }
        assert!(batches(&[5]) != whole && batches(&[0, 0]).is_empty());
    }

    #[test]
    fn what_is_left_out_is_left_out_of_each_batch() {
        let mut odd = batches(&[2, 3]);
        odd.retain(|number| number % 2 == 1);
        assert_eq!(odd.into_vec(), [1, 3, 5]);
    }
}
