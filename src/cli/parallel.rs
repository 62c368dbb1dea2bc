//! The same work on many things at once, with the answers in the order of the things.

use std::num::NonZeroUsize;
use std::panic::resume_unwind;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// Does `work` on each of `things`, on as many threads as the machine has cores; `done` hears how many are finished.
pub fn each<T: Sync, R: Send>(things: &[T], work: impl Fn(&T) -> R + Sync, done: impl Fn(usize) + Sync) -> Vec<R> {
    let threads = thread::available_parallelism().map_or(1, NonZeroUsize::get).min(things.len());
    let next = AtomicUsize::new(0);
    let answers = Mutex::new(Vec::with_capacity(things.len()));
    let worker = || {
        while let Some((index, thing)) = things.iter().enumerate().nth(next.fetch_add(1, Ordering::Relaxed)) {
            let answer = work(thing);
            // A poisoned lock means another thread panicked; that panic is passed on below.
            let Ok(mut answers) = answers.lock() else { return };
            answers.push((index, answer));
            done(answers.len());
        }
    };
    thread::scope(|scope| {
        let workers: Vec<_> = (0..threads).map(|_| scope.spawn(worker)).collect();
        for worker in workers {
            if let Err(payload) = worker.join() {
                resume_unwind(payload);
            }
        }
    });
    let mut answers = answers.into_inner().unwrap_or_default();
    answers.sort_by_key(|(index, _)| *index);
    answers.into_iter().map(|(_, answer)| answer).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_keep_the_order_of_the_things() {
        let things: Vec<u64> = (0..100).collect();
        let heard = AtomicUsize::new(0);
        let answers = each(&things, |thing| thing * thing, |count| _ = heard.fetch_max(count, Ordering::Relaxed));
        assert_eq!(answers, things.iter().map(|thing| thing * thing).collect::<Vec<_>>());
        assert_eq!(heard.into_inner(), 100);
        assert_eq!(each(&[] as &[u8], |thing| *thing, |_| ()), Vec::<u8>::new());
    }

    #[test]
    fn a_panic_on_a_thread_is_passed_on_with_its_words() {
        let caught = std::panic::catch_unwind(|| each(&[1, 2], |thing| assert!(*thing < 2, "two is too many"), |_| ()));
        assert!(caught.unwrap_err().downcast_ref::<&str>().unwrap().contains("two is too many"));
    }
}
