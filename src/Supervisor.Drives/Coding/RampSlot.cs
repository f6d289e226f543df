using Supervisor.Configuration.Drives;
using Supervisor.Drives.Exchange;

namespace Supervisor.Drives.Coding;

/// <summary>A ramp as the drive takes it: counts/s², or the time to or from a speed.</summary>
/// <remarks>
/// A time has steps. One at a move's start is rounded up, to the gentler side; one that also brakes is rounded down, so that no stop is longer
/// than what is computed with the ramp that was asked for.
/// </remarks>
internal readonly struct RampSlot(FieldSlot rate, FieldSlot time, RampTimesDefinition? times)
{
    public bool IsDeclared => rate.IsDeclared || (time.IsDeclared && times is not null);

    /// <summary>The register that the ramp is in.</summary>
    public FieldSlot Field => rate.IsDeclared ? rate : time;

    /// <summary>Takes a ramp back that did not go out yet.</summary>
    public void Withdraw(CommandImage image)
    {
        image.Withdraw(rate);
        image.Withdraw(time);
    }

    /// <summary>Puts the ramp in, counts/s²; <paramref name="velocity"/> (counts/s) is the one commanded with it.</summary>
    public void Put(Span<ushort> registers, double value, double velocity, bool brakes)
    {
        rate.PutValue(registers, value);
        if (time.IsDeclared && times is not null)
        {
            // A hair's breadth of rounding in the division must not cost a whole step.
            var steps = times.TimeMs(value, velocity) / time.Scale;
            var whole = brakes ? Math.Floor(steps + 1e-6) : Math.Ceiling(steps - 1e-6);
            time.PutValue(registers, Math.Max(whole, 1) * time.Scale);
        }
    }
}
