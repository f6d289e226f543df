namespace Supervisor.Runtime.Contact;

/// <summary>Compares a drive's uptime with our own time: it tells whether the drive was off in between.</summary>
public struct DriveClock
{
    private static readonly TimeSpan Tolerance = TimeSpan.FromSeconds(2);

    // Two quartz clocks drift apart by less than this share, and by far.
    private const double Drift = 0.0005;

    // A drive that starts anew soon after it had started tells almost what it would have told: for so long its uptime is held against the
    // first one it told, to its own resolution. Later its uptime is too short by more than the tolerance.
    private static readonly TimeSpan JustStarted = TimeSpan.FromSeconds(10);
    private const double SlowestShare = 0.98;

    // How much later than its drive said it one reading may come than another.
    private const double ReadingMs = 100;

    private double _uptimeMs;
    private TimeSpan _at;
    private double _firstMs;
    private TimeSpan _firstAt;
    private bool _known;

    /// <summary>Time of the last reading.</summary>
    public readonly TimeSpan At => _at;

    /// <summary>The drive's uptime at the last reading, ms.</summary>
    public readonly double UptimeMs => _uptimeMs;

    /// <summary>Begins with a reading that was written down.</summary>
    public void Remember(double uptimeMs, TimeSpan at)
    {
        _uptimeMs = uptimeMs;
        _at = at;
        _known = true;
        (_firstMs, _firstAt) = (uptimeMs, at);
    }

    /// <summary>
    /// Takes a reading after a silence of any length. True when the drive ran through it: besides going on by what passed here, its uptime
    /// covers the whole silence, which no drive that started within it can tell.
    /// </summary>
    public bool ProvesNoGap(Parameter uptime, TimeSpan now)
    {
        ArgumentNullException.ThrowIfNull(uptime);
        var (before, passed) = (_uptimeMs, now - _at);
        var ran = RanThrough(uptime, now);
        var covered = _uptimeMs >= before ? _uptimeMs : before;
        return ran && passed >= TimeSpan.Zero && covered > passed.TotalMilliseconds * (1 + Drift);
    }

    /// <summary>
    /// Takes a reading. True when the drive ran through since the last one: its uptime went on by what passed here, give or take two
    /// seconds and a tenth. The first reading proves nothing and gives false.
    /// </summary>
    public bool RanThrough(Parameter uptime, TimeSpan now) => RanThrough(uptime, now, now);

    /// <summary>As the other, for a reading whose reply may have lain there for a while before this thread took it.</summary>
    /// <param name="uptime">The reading.</param>
    /// <param name="askedAt">When it was asked for: the drive told what it had then, or later.</param>
    /// <param name="now">When its reply was taken.</param>
    public bool RanThrough(Parameter uptime, TimeSpan askedAt, TimeSpan now)
    {
        ArgumentNullException.ThrowIfNull(uptime);
        var unitMs = uptime.Field.Unit == "s" ? 1000.0 : 1.0;
        var value = uptime.Value * unitMs;
        var wrapsAt = Math.Pow(2, uptime.Bits) * uptime.Field.Scale * unitMs;
        var went = value - _uptimeMs;
        went = went < 0 ? went + wrapsAt : went;
        var passed = now - _at;
        var ran = _known && Math.Abs(went - passed.TotalMilliseconds) <= Tolerance.TotalMilliseconds + (passed.TotalMilliseconds / 10);
        ran &= IsNotBehind(value < _firstMs ? value + wrapsAt : value, uptime.Field.Scale * unitMs, askedAt);
        _uptimeMs = value;
        _at = now;
        _known = true;
        if (!ran)
        {
            (_firstMs, _firstAt) = (value, now);
        }

        return ran;
    }

    private readonly bool IsNotBehind(double value, double resolutionMs, TimeSpan askedAt)
    {
        var passed = askedAt - _firstAt;
        return passed >= JustStarted || value >= _firstMs + (passed.TotalMilliseconds * SlowestShare) - ReadingMs - resolutionMs;
    }

    /// <summary>True once a reading was taken.</summary>
    public readonly bool IsKnown => _known;
}
