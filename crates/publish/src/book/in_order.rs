//! Work done side by side and handed over in order.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::sync_channel;

/// Makes something of all, side by side, and hands it on in order; the first fault ends it.
pub(super) fn in_order<T: Copy + Sync, R: Send, E>(
    all: &[T],
    make: &(dyn Fn(T) -> R + Sync),
    mut take: impl FnMut(R) -> Result<(), E>,
) -> Result<(), E> {
    let workers = rayon::current_num_threads();
    let next = AtomicUsize::new(0);
    // What is ready waits for what is before it; nobody runs far ahead of a slow disk.
    let (send, receive) = sync_channel(workers);
    std::thread::scope(|scope| {
        for _ in 0..workers {
            let (send, next) = (send.clone(), &next);
            scope.spawn(move || {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    // After a fault nobody listens any more.
                    let Some(one) = all.get(i) else { break };
                    if send.send((i, make(*one))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(send);
        let (mut waiting, mut turn) = (BTreeMap::new(), 0);
        for (i, made) in receive {
            waiting.insert(i, made);
            while let Some(made) = waiting.remove(&turn) {
                take(made)?;
                turn += 1;
            }
        }
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_made_side_by_side_comes_in_order_until_the_first_fault() {
        let all: Vec<u64> = (0..60).collect();
        // Every seventh takes longest.
        let slow = |i: u64| {
            std::thread::sleep(std::time::Duration::from_micros(if i.is_multiple_of(7) { 3000 } else { 100 }));
            i * i
        };
        let mut got = vec![];
        let done: Result<(), ()> = in_order(&all, &slow, |v| {
            got.push(v);
            Ok(())
        });
        assert!(done.is_ok() && got == all.iter().map(|i| i * i).collect::<Vec<_>>());
        let mut taken = 0;
        let faulty = in_order(&all, &slow, |v| {
            taken += 1;
            if v == 25 { Err("the disk is full") } else { Ok(()) }
        });
        assert_eq!((faulty, taken), (Err("the disk is full"), 6));
    }
}
