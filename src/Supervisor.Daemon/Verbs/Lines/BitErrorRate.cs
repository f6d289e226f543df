namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>
/// Rate of bit errors by how many exchanges failed, as if errors came singly and each spoilt its exchange. Real ones come in bursts, so this compares
/// lines and says nothing of any single bit.
/// </summary>
public static class BitErrorRate
{
    /// <summary>Confidence of the bounds.</summary>
    public const double Confidence = 0.95;

    private const int Halvings = 200;

    /// <summary>The rate that makes <paramref name="failed"/> of <paramref name="exchanges"/> exchanges of so many bits the most likely.</summary>
    public static double Estimate(long failed, long exchanges, int bits) => OfShare((double)failed / exchanges, bits);

    /// <summary>The rate that the true one is not above with <see cref="Confidence"/>.</summary>
    public static double UpperBound(long failed, long exchanges, int bits) => OfShare(UpperShare(failed, exchanges), bits);

    /// <summary>
    /// The share of failures that the true one is not above with <see cref="Confidence"/>: the one-sided bound of Clopper and Pearson (Biometrika 26, 1934),
    /// where the binomial distribution makes so few failures as unlikely as the confidence leaves.
    /// </summary>
    public static double UpperShare(long failed, long exchanges)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(failed);
        ArgumentOutOfRangeException.ThrowIfLessThan(exchanges, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(failed, exchanges);
        if (failed == exchanges)
        {
            return 1;
        }

        var (low, high) = ((double)failed / exchanges, 1.0);
        for (var i = 0; i < Halvings; i++)
        {
            var middle = (low + high) / 2;
            (low, high) = AtMost(failed, exchanges, middle) > 1 - Confidence ? (middle, high) : (low, middle);
        }

        return high;
    }

    private static double OfShare(double share, int bits)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(bits, 1);
        // 1 - (1 - share)^(1 / bits), where a small rate must not drown in the 1.
        var exponent = Math.Log(1 - share) / bits;
        return exponent > -1e-6 ? -exponent : 1 - Math.Exp(exponent);
    }

    /// <summary>Probability of at most <paramref name="failed"/> failures at that share.</summary>
    private static double AtMost(long failed, long exchanges, double share)
    {
        var ratio = share / (1 - share);
        var logTerm = exchanges * Math.Log(1 - share);
        var sum = Math.Exp(logTerm);
        for (long i = 0; i < failed; i++)
        {
            logTerm += Math.Log((exchanges - i) / (double)(i + 1) * ratio);
            sum += Math.Exp(logTerm);
        }

        return sum;
    }
}
