//! The threads that plug-ins are lent for large files: those that batches run on too.

use plugin_api::Workers;
use rayon::prelude::*;

/// The pool of threads of this process.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Threads;

impl Workers for Threads {
    fn threads(&self) -> usize {
        rayon::current_num_threads()
    }

    fn each(&self, count: usize, work: &(dyn Fn(usize) + Sync)) {
        (0..count).into_par_iter().for_each(work);
    }
}
