using Supervisor.Motion.Heating;

namespace Supervisor.Motion.Tests.Heating;

public sealed class ThermalModelTests
{
    private const double Digits4 = 5e-5;
    private static readonly TimeSpan Tau = TimeSpan.FromSeconds(30);
    private static readonly ThermalModel Model = new(Tau, 1);

    /// <summary>IEC 60255-149, t = τ·ln((I² − Ip²)/(I² − (k·IB)²)), τ 30 s, k·IB 1: computed from the published formula.</summary>
    [Theory]
    [InlineData(1.5, 0, 17.6336)]
    [InlineData(2, 0, 8.6305)]
    [InlineData(3, 0, 3.5335)]
    [InlineData(1.5, 0.9, 4.2450)]
    [InlineData(2, 0.9, 1.8423)]
    [InlineData(3, 0.9, 0.7042)]
    [InlineData(-2, -0.9, 1.8423)]
    public void TimeToTrip_Overload_IsThatOfTheStandard(double load, double before, double seconds) =>
        Assert.Equal(seconds, Model.TimeToTrip(load, before)!.Value.TotalSeconds, Digits4);

    /// <summary>The same times by stepping the state as a supervisor does, at an even and an uneven pace.</summary>
    [Theory]
    [InlineData(1.5, 0, 17.6336, 0.04, 0.04)]
    [InlineData(3, 0, 3.5335, 0.04, 0.04)]
    [InlineData(2, 0.9, 1.8423, 0.01, 0.37)]
    public void After_SteppedToTheTripTime_IsAtTheTripValue(double load, double before, double seconds, double stepS, double otherStepS)
    {
        var heat = Model.FinalHeat(before);
        double left = seconds, step = stepS;
        while (left > 0)
        {
            var now = Math.Min(step, left);
            heat = Model.After(heat, load, TimeSpan.FromSeconds(now));
            left -= now;
            step = step == stepS ? otherStepS : stepS;
        }

        Assert.Equal(1, heat, 1e-4);
    }

    [Fact]
    public void After_OneTimeConstant_Is63PercentOfTheWay()
    {
        Assert.Equal(1 - Math.Exp(-1), Model.After(0, 1, Tau), 1e-12);
        Assert.Equal(Math.Exp(-1), Model.After(1, 0, Tau), 1e-12);
    }

    [Fact]
    public void After_LoadInPercentOfRated_IsComparedWithTheContinuousLoad()
    {
        var motor = new ThermalModel(Tau, 80);

        Assert.Equal(1, motor.FinalHeat(80), 1e-12);
        Assert.Equal(0.25, motor.FinalHeat(-40), 1e-12);
        Assert.Null(motor.TimeToTrip(80, 0));
        Assert.Equal(8.6305, motor.TimeToTrip(160, 0)!.Value.TotalSeconds, Digits4);
    }

    [Fact]
    public void TimeToTrip_LoadThatMayBeKept_IsNever()
    {
        Assert.Null(Model.TimeToTrip(1, 0));
        Assert.Null(Model.TimeToTrip(0, 0.99));
        Assert.Equal(TimeSpan.Zero, Model.TimeToTrip(0.5, 1.2));
    }

    [Fact]
    public void After_AnyLoad_AllocatesNothing()
    {
        var heat = 0.0;
        Model.After(heat, 1, Tau);
        var before = GC.GetAllocatedBytesForCurrentThread();
        for (var i = 0; i < 1000; i++)
        {
            heat = Model.After(heat, 1.2, TimeSpan.FromMilliseconds(40));
        }

        Assert.Equal(before, GC.GetAllocatedBytesForCurrentThread());
        Assert.InRange(heat, 0.5, 1.44);
    }

    [Fact]
    public void Model_BadArgument_NamesIt()
    {
        Assert.Equal("timeConstant", Assert.Throws<ArgumentOutOfRangeException>(() => new ThermalModel(TimeSpan.Zero, 1)).ParamName);
        Assert.Equal("continuousLoad", Assert.Throws<ArgumentOutOfRangeException>(() => new ThermalModel(Tau, 0)).ParamName);
        Assert.Equal("load", Assert.Throws<ArgumentOutOfRangeException>(() => Model.After(0, double.NaN, Tau)).ParamName);
        Assert.Equal("heat", Assert.Throws<ArgumentOutOfRangeException>(() => Model.After(-1, 0, Tau)).ParamName);
        Assert.Equal("elapsed", Assert.Throws<ArgumentOutOfRangeException>(() => Model.After(0, 0, -Tau)).ParamName);
    }
}
