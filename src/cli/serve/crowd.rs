//! Who is connected: never more than a set number, so that no crowd of idle connections keeps the next reader out.
//! Knows nothing of what is said on a connection.

use std::net::{Shutdown, TcpStream};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Instant;

/// The connections that are open.
pub struct Crowd {
    most: usize,
    guests: Mutex<(u64, Vec<Guest>)>,
}

struct Guest {
    number: u64,
    stream: Arc<TcpStream>,
    /// Since when nothing was asked on it; none while it is answered.
    waits_since: Option<Instant>,
}

/// A connection's place in the crowd, given back when it is dropped.
pub struct Place {
    crowd: Arc<Crowd>,
    number: u64,
}

impl Crowd {
    /// A crowd of this many at most.
    pub fn new(most: usize) -> Arc<Self> {
        Arc::new(Self { most, guests: Mutex::default() })
    }

    /// Lets a connection in. Where there is no room, the one that has waited longest without a question has to go; where
    /// all are being answered, there is none.
    pub fn admit(self: &Arc<Self>, stream: &Arc<TcpStream>) -> Option<Place> {
        self.with(|(last, guests)| {
            if guests.len() >= self.most {
                let waits = |i: &usize| guests[*i].waits_since;
                let idlest = (0..guests.len()).filter(|i| waits(i).is_some()).min_by_key(waits)?;
                let _ = guests.swap_remove(idlest).stream.shutdown(Shutdown::Both);
            }
            *last += 1;
            guests.push(Guest { number: *last, stream: stream.clone(), waits_since: Some(Instant::now()) });
            Some(Place { crowd: self.clone(), number: *last })
        })
    }

    fn with<T>(&self, f: impl FnOnce(&mut (u64, Vec<Guest>)) -> T) -> T {
        f(&mut self.guests.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Place {
    /// Notes whether the connection waits for a question or is being answered.
    pub fn waits(&self, waits: bool) {
        self.crowd.with(|(_, guests)| {
            if let Some(guest) = guests.iter_mut().find(|guest| guest.number == self.number) {
                guest.waits_since = waits.then(Instant::now);
            }
        });
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        self.crowd.with(|(_, guests)| guests.retain(|guest| guest.number != self.number));
    }
}
