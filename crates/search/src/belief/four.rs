//! Four whole numbers in one register: left to itself the compiler takes them apart again.

#[cfg(not(target_arch = "x86_64"))]
pub(super) use plain::Four;
#[cfg(target_arch = "x86_64")]
pub(super) use register::Four;

#[cfg(target_arch = "x86_64")]
#[allow(unused_unsafe)] // some of these were unsafe to call until Rust 1.87
mod register {
    use super::super::sort::{GROUP, Group};
    use std::arch::x86_64::*;

    /// Four whole numbers, or four times all bits or none.
    #[derive(Clone, Copy)]
    pub struct Four(__m128i);

    // SAFETY, of all below: every processor of this kind has these instructions; what is read and written is as long as that.
    impl Four {
        #[inline(always)]
        pub fn of(values: [i32; GROUP]) -> Self {
            Four(unsafe { _mm_loadu_si128(values.as_ptr().cast()) })
        }

        #[inline(always)]
        pub fn all(value: i32) -> Self {
            Four(unsafe { _mm_set1_epi32(value) })
        }

        /// Sums of two products each.
        #[inline(always)]
        pub fn turned(group: &Group, turn: [i16; 2]) -> Self {
            let turn = i32::from(turn[1]) << 16 | i32::from(turn[0] as u16);
            Four(unsafe {
                _mm_madd_epi16(_mm_loadu_si128(group.steps.as_ptr().cast()), _mm_set1_epi32(turn))
            })
        }

        #[inline(always)]
        pub fn above(self, other: Self) -> Self {
            Four(unsafe { _mm_cmpgt_epi32(self.0, other.0) })
        }

        #[inline(always)]
        pub fn and(self, other: Self) -> Self {
            Four(unsafe { _mm_and_si128(self.0, other.0) })
        }

        #[inline(always)]
        pub fn or(self, other: Self) -> Self {
            Four(unsafe { _mm_or_si128(self.0, other.0) })
        }

        #[inline(always)]
        pub fn without(self, other: Self) -> Self {
            Four(unsafe { _mm_andnot_si128(other.0, self.0) })
        }

        #[inline(always)]
        pub fn any(self) -> bool {
            unsafe { _mm_movemask_epi8(self.0) != 0 }
        }

        #[inline(always)]
        pub fn array(self) -> [i32; GROUP] {
            let mut values = [0; GROUP];
            unsafe { _mm_storeu_si128(values.as_mut_ptr().cast(), self.0) };
            values
        }
    }
}

/// The same for processors of another kind; the tests compare both.
#[cfg(any(test, not(target_arch = "x86_64")))]
mod plain {
    use super::super::sort::{GROUP, Group};

    /// Four whole numbers, or four times all bits or none.
    #[derive(Clone, Copy)]
    pub struct Four([i32; GROUP]);

    impl Four {
        pub fn of(values: [i32; GROUP]) -> Self {
            Four(values)
        }

        pub fn all(value: i32) -> Self {
            Four([value; GROUP])
        }

        pub fn turned(group: &Group, turn: [i16; 2]) -> Self {
            Four(std::array::from_fn(|k| {
                let [east, north] = group.off_middle(k).map(i32::from);
                east * i32::from(turn[0]) + north * i32::from(turn[1])
            }))
        }

        fn with(self, other: Self, what: impl Fn(i32, i32) -> i32) -> Self {
            Four(std::array::from_fn(|k| what(self.0[k], other.0[k])))
        }

        pub fn above(self, other: Self) -> Self {
            self.with(other, |a, b| -i32::from(a > b))
        }

        pub fn and(self, other: Self) -> Self {
            self.with(other, |a, b| a & b)
        }

        pub fn or(self, other: Self) -> Self {
            self.with(other, |a, b| a | b)
        }

        pub fn without(self, other: Self) -> Self {
            self.with(other, |a, b| a & !b)
        }

        pub fn any(self) -> bool {
            self.0 != [0; GROUP]
        }

        pub fn array(self) -> [i32; GROUP] {
            self.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::cells::{CellOrder, Sorted};
    use super::super::sort::GROUP;
    use super::{Four, plain};
    use measure::{Seed, Spot};
    use water::Grid;

    #[test]
    fn registers_say_what_single_steps_say() {
        let mut draws = Seed(6).stream("four").draws();
        let grid = Grid { corner: Spot::default(), cell_m: 4.0, cols: 1, rows: 1 };
        for _ in 0..200 {
            let mut some = || std::array::from_fn::<f64, GROUP, _>(|_| draws.between(0.0, 4.0));
            let (east, north, bounds) = (some(), some(), some());
            let mut sorted = Sorted::default();
            CellOrder::new(grid, [&east, &north, &[1.0; GROUP]], &mut sorted);
            let group = &sorted.groups(&(0..GROUP))[0];
            let turn =
                [draws.between(-32_767.0, 32_767.0), draws.between(-32_767.0, 32_767.0)].map(|t| t as i16);
            let bounds = bounds.map(|b| ((b - 2.0) * 5e8) as i32);
            let (a, b) = (Four::turned(group, turn), plain::Four::turned(group, turn));
            assert_eq!(a.array(), b.array());
            let (c, d) = (a.above(Four::of(bounds)), b.above(plain::Four::of(bounds)));
            assert_eq!(c.array(), d.array());
            let (e, f) = (a.above(Four::all(7)), b.above(plain::Four::all(7)));
            assert_eq!(
                [c.and(e), c.or(e), c.without(e)].map(Four::array),
                [d.and(f), d.or(f), d.without(f)].map(plain::Four::array)
            );
            assert_eq!(c.any(), d.any());
        }
    }
}
