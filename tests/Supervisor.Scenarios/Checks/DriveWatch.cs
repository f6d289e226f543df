using Supervisor.Drives.Exchange;
using Supervisor.Scenarios.Stories;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Checks;

/// <summary>How drives moved of late, and when their zero moved: what a reading that is a little old may differ by.</summary>
public sealed class DriveWatch
{
    private const int Kept = 64;
    private readonly StoryWorld _world;
    private readonly double[][] _speeds;
    private readonly double[] _zeros;
    private readonly TimeSpan[] _zeroMovedAt;
    private readonly int[] _blocks;
    private int _at;

    public DriveWatch(StoryWorld world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _world = world;
        _speeds = [.. world.Machine.Axes.Select(_ => new double[Kept])];
        _zeros = new double[_speeds.Length];
        _zeroMovedAt = new TimeSpan[_speeds.Length];
        _blocks = [.. world.Machine.Axes.Select(axis => new ExchangePlan(axis.Drive).FeedbackBlocks.Length)];
        Look();
    }

    /// <summary>Takes the present in; once each interval of the coordinator.</summary>
    public void Look()
    {
        _at = (_at + 1) % Kept;
        for (var axis = 0; axis < _speeds.Length; axis++)
        {
            _speeds[axis][_at] = Math.Abs(_world.Plant.Drives[axis].Plant.Velocity);
            LookAtZero(axis);
        }
    }

    /// <summary>True when the drive's zero moved within a time: it was homed, or started anew.</summary>
    public bool ZeroMovedWithin(int axis, TimeSpan time)
    {
        LookAtZero(axis);
        return _world.Queue.Now - _zeroMovedAt[axis] <= time;
    }

    /// <summary>When the drive's zero last moved.</summary>
    public TimeSpan ZeroMovedAt(int axis) => _zeroMovedAt[axis];

    /// <summary>The way an axis can have gone in the last <paramref name="time"/>, its unit.</summary>
    public double Travelled(int axis, TimeSpan time)
    {
        var looks = Math.Min(Kept, (int)Math.Ceiling(time / SupervisorProcess.CoordinatorPeriod) + 2);
        var fastest = Math.Abs(_world.Plant.Drives[axis].Plant.Velocity);
        for (var i = 0; i < looks; i++)
        {
            fastest = Math.Max(fastest, _speeds[axis][(_at - i + Kept) % Kept]);
        }

        return fastest * 1.1 * time.TotalSeconds;
    }

    /// <summary>How far two positions are apart; on an endless axis the short way round.</summary>
    public double Distance(int axis, double a, double b)
    {
        var off = Math.Abs(a - b);
        if (_world.Machine.Axes[axis].EndlessPeriod is { } period)
        {
            off %= period;
            off = Math.Min(off, period - off);
        }

        return off;
    }

    /// <summary>Longest time between a drive's sampling and the end of the exchange that brings it: both frames and the time-out.</summary>
    public TimeSpan ExchangeTime(int axis)
    {
        var port = _world.Machine.Axes[axis].Port;
        var definition = _world.Machine.Ports[port];

        // A feedback in several blocks is as old as its first one, and each may be asked again.
        var blocks = _blocks[axis];
        var one = definition.ResponseTimeout + _world.Machine.Axes[axis].Drive.Wire.Turnaround + _world.Plant.Lines[port].Line.CharacterTime(80) + TimeSpan.FromMilliseconds(2);
        return blocks == 1 ? one : one * 2 * blocks * (1 + definition.Retries);
    }

    private void LookAtZero(int axis)
    {
        var drive = _world.Plant.Drives[axis];
        var zero = drive.CountedPosition - drive.Plant.PositionCounts;
        if (Math.Abs(zero - _zeros[axis]) > 0.5)
        {
            _zeros[axis] = zero;
            _zeroMovedAt[axis] = _world.Queue.Now;
        }
    }
}
