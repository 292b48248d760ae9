//! Disjoint sets of numbered things.

/// Sets that can be joined (union by size, paths halved).
pub(super) struct Sets {
    parent: Vec<u32>,
    size: Vec<u32>,
}

impl Sets {
    /// `count` sets of one.
    pub(super) fn new(count: usize) -> Self {
        Sets {
            parent: (0..count as u32).collect(),
            size: vec![1; count],
        }
    }

    /// The thing that stands for the set of `i`.
    pub(super) fn root(&mut self, mut i: usize) -> usize {
        while self.parent[i] as usize != i {
            let over = self.parent[self.parent[i] as usize];
            self.parent[i] = over;
            i = over as usize;
        }
        i
    }

    /// Joins two sets; what stands for both.
    pub(super) fn join(&mut self, a: usize, b: usize) -> usize {
        let (a, b) = (self.root(a), self.root(b));
        if a == b {
            return a;
        }
        let (large, small) = if self.size[a] >= self.size[b] {
            (a, b)
        } else {
            (b, a)
        };
        self.parent[small] = large as u32;
        self.size[large] += self.size[small];
        large
    }
}
