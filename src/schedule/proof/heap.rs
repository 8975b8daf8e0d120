//! A binary heap of numbered things by activity, highest first, whose members may change rank.

const OUT: u32 = u32::MAX;

#[derive(Debug, Default)]
pub(super) struct Heap {
    activity: Vec<f64>,
    place: Vec<u32>,
    items: Vec<u32>,
}

impl Heap {
    pub fn add(&mut self) {
        self.activity.push(0.0);
        self.place.push(OUT);
        self.insert(self.activity.len() as u32 - 1);
    }

    pub fn insert(&mut self, k: u32) {
        if self.place[k as usize] == OUT {
            self.place[k as usize] = self.items.len() as u32;
            self.items.push(k);
            self.up(self.items.len() - 1);
        }
    }

    pub fn bump(&mut self, k: u32, by: f64) {
        self.activity[k as usize] += by;
        if self.place[k as usize] != OUT {
            self.up(self.place[k as usize] as usize);
        }
    }

    pub fn scale(&mut self, by: f64) {
        self.activity.iter_mut().for_each(|a| *a *= by);
    }

    pub fn pop(&mut self) -> Option<u32> {
        let top = *self.items.first()?;
        let last = self.items.pop()?;
        self.place[top as usize] = OUT;
        if !self.items.is_empty() {
            self.items[0] = last;
            self.place[last as usize] = 0;
            self.down(0);
        }
        Some(top)
    }

    fn key(&self, i: usize) -> f64 {
        self.activity[self.items[i] as usize]
    }

    fn swap(&mut self, i: usize, j: usize) {
        self.items.swap(i, j);
        self.place[self.items[i] as usize] = i as u32;
        self.place[self.items[j] as usize] = j as u32;
    }

    fn up(&mut self, mut i: usize) {
        while i > 0 && self.key(i) > self.key((i - 1) / 2) {
            self.swap(i, (i - 1) / 2);
            i = (i - 1) / 2;
        }
    }

    fn down(&mut self, mut i: usize) {
        loop {
            let (l, r) = (2 * i + 1, 2 * i + 2);
            let mut top = i;
            if l < self.items.len() && self.key(l) > self.key(top) {
                top = l;
            }
            if r < self.items.len() && self.key(r) > self.key(top) {
                top = r;
            }
            if top == i {
                return;
            }
            self.swap(i, top);
            i = top;
        }
    }
}
