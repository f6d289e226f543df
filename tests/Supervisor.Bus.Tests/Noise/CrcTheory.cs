using System.Numerics;

namespace Supervisor.Bus.Tests.Noise;

/// <summary>
/// How often a damaged frame passes its CRC, when each bit turns round by itself with the same chance: from how many patterns of each weight pass, by
/// the identity of MacWilliams (Bell System Technical Journal 42, 1963) from the 2^16 words of the dual code. Worked out from the polynomial alone.
/// </summary>
internal static class CrcTheory
{
    private static readonly Dictionary<int, BigInteger[]> Known = [];

    /// <summary>Of all patterns of so many turned bits in a run of <paramref name="bits"/> bits that ends with the frame, how many pass; by their number of turned bits.</summary>
    public static BigInteger[] PassingPatterns(int bits)
    {
        lock (Known)
        {
            if (!Known.TryGetValue(bits, out var patterns))
            {
                patterns = Known[bits] = Count(bits);
            }

            return patterns;
        }
    }

    /// <summary>Chance that the first bytes of a frame arrive as they were and the rest damaged, and that its CRC fits all the same.</summary>
    /// <param name="bytes">Bytes of the frame, CRC included.</param>
    /// <param name="head">Bytes at its beginning that must arrive as they were, or it is not taken for an answer.</param>
    /// <param name="rate">Chance of a bit to turn round.</param>
    public static double Undetected(int bytes, int head, double rate)
    {
        var bits = 8 * (bytes - head);
        var patterns = PassingPatterns(bits);
        var sum = 0.0;
        for (var weight = 1; weight <= bits; weight++)
        {
            sum += (double)patterns[weight] * Math.Pow(rate, weight) * Math.Pow(1 - rate, bits - weight);
        }

        return Math.Pow(1 - rate, 8 * head) * sum;
    }

    private static BigInteger[] Count(int bits)
    {
        var dual = DualWeights(bits);
        // Coefficients of (1 - z)^i (1 + z)^(bits - i), from i = 0 on.
        var term = new BigInteger[bits + 1];
        term[0] = 1;
        for (var i = 0; i < bits; i++)
        {
            for (var power = i + 1; power > 0; power--)
            {
                term[power] += term[power - 1];
            }
        }

        var sum = new BigInteger[bits + 1];
        for (var i = 0; i <= bits; i++)
        {
            for (var weight = 0; weight <= bits; weight++)
            {
                sum[weight] += dual[i] * term[weight];
            }

            if (i < bits)
            {
                Step(term);
            }
        }

        return [.. sum.Select(each => each / 65536)];
    }

    /// <summary>Divides by (1 + z), which leaves no rest, and multiplies by (1 - z).</summary>
    private static void Step(BigInteger[] term)
    {
        for (var power = 1; power < term.Length; power++)
        {
            term[power] -= term[power - 1];
        }

        for (var power = term.Length - 1; power > 0; power--)
        {
            term[power] -= term[power - 1];
        }
    }

    private static long[] DualWeights(int bits)
    {
        // What a lone turned bit leaves of the remainder, the last one on the wire first: bits leave low end first, so the register runs to the right.
        var columns = new int[bits];
        for (int bit = 0, remainder = 0x8000; bit < bits; bit++)
        {
            columns[bit] = remainder;
            remainder = (remainder >> 1) ^ ((remainder & 1) != 0 ? 0xA001 : 0);
        }

        var counts = new long[bits + 1];
        for (var mask = 0; mask < 65536; mask++)
        {
            var weight = 0;
            foreach (var column in columns)
            {
                weight += BitOperations.PopCount((uint)(column & mask)) & 1;
            }

            counts[weight]++;
        }

        return counts;
    }
}
