namespace Supervisor.Configuration.Machines;

/// <summary>Direction of an RS-485 line switched by the port's driver with RTS; without it the adapter or transceiver switches by itself.</summary>
/// <param name="SendsOnHighRts">RTS is high while sending and low after; false: the other way round.</param>
/// <param name="DelayBefore">Time from RTS to the first byte, whole milliseconds, at most 100.</param>
/// <param name="DelayAfter">Time from the last byte to RTS, whole milliseconds, at most 100.</param>
public sealed record Rs485Definition(bool SendsOnHighRts, TimeSpan DelayBefore, TimeSpan DelayAfter);

/// <summary>From which share of failed exchanges a drive or a whole line is told about, and from which its axes stop.</summary>
/// <param name="Exchanges">Exchanges that are looked back at, 100 to 10,000.</param>
/// <param name="WarningPercent">Share of them that failed from which it is a warning. It ends below half of it.</param>
/// <param name="FaultPercent">Share from which it is a fault; above the former.</param>
public sealed record ErrorRateDefinition(int Exchanges, double WarningPercent, double FaultPercent)
{
    /// <summary>
    /// What holds where the file says nothing: 2 % and 25 % of 1,000. Common practice without a source: a line in order loses fewer than one
    /// exchange in a thousand; with two repeats a quarter lost still leaves a drive unheard for a cycle some sixty times an hour at 20 ms.
    /// </summary>
    public static readonly ErrorRateDefinition Usual = new(1000, 2, 25);

    /// <summary>Failures among <see cref="Exchanges"/> from which it is a warning, at least 1.</summary>
    public int WarningCount => CountOf(WarningPercent);

    /// <summary>Failures from which it is a fault.</summary>
    public int FaultCount => CountOf(FaultPercent);

    private int CountOf(double percent) => Math.Max(1, (int)Math.Ceiling(Exchanges * percent / 100));
}
