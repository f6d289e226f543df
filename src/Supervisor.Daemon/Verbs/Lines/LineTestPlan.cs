using Supervisor.Bus.Links;

namespace Supervisor.Daemon.Verbs.Lines;

/// <summary>What a line test does.</summary>
/// <param name="Device">The port.</param>
/// <param name="Line">Settings of the line.</param>
/// <param name="Address">The device that answers.</param>
/// <param name="Count">Exchanges.</param>
/// <param name="Timeout">An answer later than this is late: take the port's responseTimeoutMs.</param>
/// <param name="Function">Function that reads <paramref name="Register"/>, 3 or 4.</param>
/// <param name="Register">Register that is read where the device does not echo; its address on the wire.</param>
/// <param name="Seed">Of the random patterns.</param>
public sealed record LineTestPlan(string Device, LineSettings Line, byte Address, int Count, TimeSpan Timeout, byte Function, ushort Register, int Seed);

/// <summary>How the exchanges of a line test were made.</summary>
public enum LineTestWay
{
    /// <summary>Nothing could be measured.</summary>
    None = 0,

    /// <summary>Two bytes came back as they were sent (function 8).</summary>
    Echo = 1,

    /// <summary>One register was read: the device does not echo.</summary>
    Read = 2,
}

/// <summary>What became of the exchanges.</summary>
public sealed class LineTestCounts
{
    private readonly List<TimeSpan> _times = [];

    /// <summary>Exchanges that were made.</summary>
    public int Exchanges { get; private set; }

    /// <summary>Answered well and in time.</summary>
    public int Good { get; private set; }

    /// <summary>Answered well after the time-out.</summary>
    public int Late { get; private set; }

    /// <summary>Nothing came.</summary>
    public int Lost { get; private set; }

    /// <summary>An answer whose check sum does not fit.</summary>
    public int BadCrc { get; private set; }

    /// <summary>Bytes that were no answer: cut, too long, of another address.</summary>
    public int Broken { get; private set; }

    /// <summary>An answer with a good check sum and other bytes than were sent.</summary>
    public int WrongEcho { get; private set; }

    /// <summary>Refused though it echoed or was read before, such as by a busy device.</summary>
    public int Refused { get; private set; }

    /// <summary>Exchanges that the line or the device spoilt: lost, bad check sum, broken, wrong echo.</summary>
    public int Spoilt => Lost + BadCrc + Broken + WrongEcho;

    /// <summary>Characters of one request and its answer.</summary>
    public int Characters { get; private set; }

    internal void Take(LineTestOutcome outcome, TimeSpan time, int characters)
    {
        Exchanges++;
        Good += outcome == LineTestOutcome.Good ? 1 : 0;
        Late += outcome == LineTestOutcome.Late ? 1 : 0;
        Lost += outcome == LineTestOutcome.Lost ? 1 : 0;
        BadCrc += outcome == LineTestOutcome.BadCrc ? 1 : 0;
        Broken += outcome == LineTestOutcome.Broken ? 1 : 0;
        WrongEcho += outcome == LineTestOutcome.WrongEcho ? 1 : 0;
        Refused += outcome == LineTestOutcome.Refused ? 1 : 0;
        if (outcome is LineTestOutcome.Good or LineTestOutcome.Late)
        {
            _times.Add(time);
            Characters = characters;
        }
    }

    /// <summary>Time from the first byte asked to the answer that so large a share of the answers kept; null without answers.</summary>
    public TimeSpan? Time(double share)
    {
        _times.Sort();
        return _times.Count == 0 ? null : _times[Math.Clamp((int)Math.Ceiling(share * _times.Count) - 1, 0, _times.Count - 1)];
    }
}

internal enum LineTestOutcome
{
    Good,
    Late,
    Lost,
    BadCrc,
    Broken,
    WrongEcho,
    Refused,
}
