/**
 * The only conversion factors. Multiply by a constant to get the unit that its name starts with. Mile and foot as in NIST SP 811, appendix
 * B.8, where both are exact.
 */

export const MPS_PER_KMH = 1 / 3.6;
export const KMH_PER_MPS = 3.6;
/** International mile, exactly 1,609.344 m. */
export const M_PER_MILE = 1609.344;
export const MPS_PER_MPH = M_PER_MILE / 3600;
export const MPH_PER_MPS = 3600 / M_PER_MILE;
export const MPH_PER_KMH = 1000 / M_PER_MILE;
/** International nautical mile, exactly 1,852 m. */
export const MPS_PER_KNOT = 1852 / 3600;
/** International foot, exactly 0.3048 m. */
export const M_PER_FOOT = 0.3048;
export const FT_PER_M = 1 / M_PER_FOOT;
export const RADPS_PER_RPM = (2 * Math.PI) / 60;
export const NM_PER_LBFT = 1.3558179483314003;
/** Standard gravity, ISO 80000-3. */
export const STANDARD_GRAVITY_MPS2 = 9.80665;
export const NS_PER_S = 1e9;
export const NS_PER_US = 1e3;
export const US_PER_S = 1e6;
