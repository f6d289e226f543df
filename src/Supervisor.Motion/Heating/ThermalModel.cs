namespace Supervisor.Motion.Heating;

/// <summary>
/// How a motor heats: the thermal model of IEC 60255-149, first order, driven by the square of the load. The heat is given as a share of the one
/// at which a relay of that standard, and a drive's own I²t watch, trips.
/// </summary>
/// <remarks>It computes, it does not measure: it does not know the air, the fan, nor what went before it began. It replaces no protection.</remarks>
public sealed class ThermalModel
{
    private readonly double _timeConstantS;
    private readonly double _continuousLoad;

    /// <param name="timeConstant">Time in which a constant load brings the heat to 63 % of its final value, above 0.</param>
    /// <param name="continuousLoad">Load that may be kept for ever (the standard's k·IB), above 0, in the unit of every other load here.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    public ThermalModel(TimeSpan timeConstant, double continuousLoad)
    {
        Require.Positive(timeConstant.TotalSeconds, nameof(timeConstant));
        Require.Positive(continuousLoad);
        _timeConstantS = timeConstant.TotalSeconds;
        _continuousLoad = continuousLoad;
    }

    /// <summary>The heat a load ends at when it is kept: 1 for the continuous load, which is the trip value.</summary>
    /// <param name="load">Finite; its sign does not matter.</param>
    public double FinalHeat(double load)
    {
        Require.Finite(load);
        var share = load / _continuousLoad;
        return share * share;
    }

    /// <summary>The heat after a load was kept for a time. Exact for any length of step, so that uneven samples add no error.</summary>
    /// <param name="heat">Heat before, finite, 0 or more.</param>
    /// <param name="load">Finite; its sign does not matter.</param>
    /// <param name="elapsed">0 or more.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    public double After(double heat, double load, TimeSpan elapsed)
    {
        Require.Finite(heat);
        ArgumentOutOfRangeException.ThrowIfLessThan(heat, 0);
        ArgumentOutOfRangeException.ThrowIfLessThan(elapsed, TimeSpan.Zero);
        var final = FinalHeat(load);
        return final + ((heat - final) * Math.Exp(-elapsed.TotalSeconds / _timeConstantS));
    }

    /// <summary>
    /// Time until the trip value is reached: τ·ln((I² − Ip²)/(I² − (k·IB)²)). Null for a load that may be kept for ever; zero when the load before
    /// already was too much.
    /// </summary>
    /// <param name="load">Load from now on (I), finite; its sign does not matter.</param>
    /// <param name="loadBefore">Load kept before for so long that the heat had settled (Ip), finite; 0: cold.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    /// <exception cref="OverflowException">The time is beyond <see cref="TimeSpan.MaxValue"/>.</exception>
    public TimeSpan? TimeToTrip(double load, double loadBefore)
    {
        double final = FinalHeat(load), before = FinalHeat(loadBefore);
        if (before >= 1)
        {
            return TimeSpan.Zero;
        }

        return final <= 1 ? null : TimeSpan.FromSeconds(_timeConstantS * Math.Log((final - before) / (final - 1)));
    }
}
