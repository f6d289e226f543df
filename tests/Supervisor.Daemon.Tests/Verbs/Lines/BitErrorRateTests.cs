using Supervisor.Daemon.Verbs.Lines;

namespace Supervisor.Daemon.Tests.Verbs.Lines;

public sealed class BitErrorRateTests
{
    [Theory]
    [InlineData(100)]
    [InlineData(1000)]
    [InlineData(1_000_000)]
    public void UpperShare_NoFailure_IsTheRuleOfThree(int exchanges)
    {
        // Hanley & Lippman-Hand, "If nothing goes wrong, is everything all right?", JAMA 249 (1983): about 3/n (value from memory); exactly 1 - 0.05^(1/n).
        Assert.Equal(1 - Math.Pow(0.05, 1.0 / exchanges), BitErrorRate.UpperShare(0, exchanges), 1e-9);
        Assert.InRange(BitErrorRate.UpperShare(0, exchanges) * exchanges, 2.9, 3.1);
    }

    [Theory]
    [InlineData(1, 10)]
    [InlineData(3, 50)]
    [InlineData(40, 1000)]
    [InlineData(10, 10_000)]
    public void UpperShare_SomeFailures_LeavesFivePercentBelow(int failed, int exchanges)
    {
        // The definition: at the bound so few failures have a chance of 5 %. Summed here by products, not by logarithms.
        var share = BitErrorRate.UpperShare(failed, exchanges);
        var term = Enumerable.Repeat(1 - share, exchanges).Aggregate(1.0, (product, each) => product * each);
        var sum = term;
        for (var i = 1; i <= failed; i++)
        {
            term *= (exchanges - i + 1) / (double)i * share / (1 - share);
            sum += term;
        }

        Assert.Equal(0.05, sum, 1e-6);
    }

    [Fact]
    public void UpperShare_AllFailed_IsAll() => Assert.Equal(1, BitErrorRate.UpperShare(5, 5));

    [Fact]
    public void Estimate_SeededErrors_IsNearTheRateThatMadeThem()
    {
        // 160 bits of an echo, each wrong with a chance of 1e-4, so that about 1.6 % of the exchanges fail.
        const double rate = 1e-4;
        const int bits = 160;
        const int exchanges = 50_000;
        var random = new Random(7);
        var failed = Enumerable.Range(0, exchanges).Count(_ => random.NextDouble() < 1 - Math.Pow(1 - rate, bits));

        Assert.Equal(rate, BitErrorRate.Estimate(failed, exchanges, bits), 1e-5);
        Assert.InRange(BitErrorRate.UpperBound(failed, exchanges, bits), BitErrorRate.Estimate(failed, exchanges, bits), 1.3 * rate);
    }
}
