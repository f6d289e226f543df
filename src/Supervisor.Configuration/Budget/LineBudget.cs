using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Motion.Stopping;

namespace Supervisor.Configuration.Budget;

/// <summary>What a port's line carries in a cycle, and what follows from it. Computed from the files, measured nowhere.</summary>
/// <param name="Port">Index of the port.</param>
/// <param name="Reached">Time that reading the feedback of every unit takes: the shortest cycle the line allows.</param>
/// <param name="Commanded">The same when all command registers of every axis are written in one cycle.</param>
/// <param name="Use">Share of the cycle the file asks for that the feedback takes; of a line without axes the share of time that reading its modules as often as asked takes.</param>
/// <param name="Axes">Its axes, in the file's order.</param>
public sealed record PortBudget(int Port, TimeSpan Reached, TimeSpan Commanded, double Use, IReadOnlyList<AxisBudget> Axes)
{
    /// <summary>Requests that reading the feedback of every unit takes.</summary>
    public int Requests { get; init; }

    /// <summary>Its modules, in the file's order.</summary>
    public IReadOnlyList<ModuleBudget> Modules { get; init; } = [];
}

/// <summary>What a module costs on its line.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Bits">Bits on the wire when its inputs are read and its outputs set and read back.</param>
/// <param name="Exchange">Time of that, with turnaround and gaps.</param>
/// <param name="Read">Time of one reading at its turn.</param>
/// <param name="Poll">How often it has its turn.</param>
public sealed record ModuleBudget(string Name, int Bits, TimeSpan Exchange, TimeSpan Read, TimeSpan Poll);

/// <summary>What an axis costs on its line, and what the line costs the axis.</summary>
/// <param name="Axis">Index of the axis.</param>
/// <param name="Bits">Bits of a cycle's exchange on the wire, feedback only.</param>
/// <param name="Exchange">Time of a cycle's exchange, feedback only, with turnaround and gap.</param>
/// <param name="Commanded">The same when all its command registers are written.</param>
/// <param name="LegalSilence">Longest time its port may leave the drive without a request that feeds its time-out.</param>
/// <param name="OthersMute">The same if every other unit of the line falls silent in the same cycle.</param>
/// <param name="ToStopFrame">
/// Longest time from a tripped interlock, seen on any port, to the end of the axis's stop frame; one response time-out is in it (two where it is a
/// ramp's), and the limits' ramps that go out ahead of stops to drives which brake on what they were given last.
/// </param>
/// <param name="StoppingDistance">Way from top speed in that time and on the ramp, unit. One term of a safety distance: a validated measurement of the whole chain decides.</param>
public sealed record AxisBudget(
    int Axis, int Bits, TimeSpan Exchange, TimeSpan Commanded, TimeSpan LegalSilence, TimeSpan OthersMute, TimeSpan ToStopFrame, double StoppingDistance);

/// <summary>Computes the budget of every line of a machine.</summary>
public static class LineBudget
{
    /// <summary>An idle port looks at the stops this often.</summary>
    public static readonly TimeSpan LookInterval = TimeSpan.FromMilliseconds(2);

    /// <summary>A drive's time-out is longer than the legal silence by at least this, so that a pause of the program never stops a machine.</summary>
    public static readonly TimeSpan Pause = TimeSpan.FromMilliseconds(50);

    /// <summary>A drive that only writes feed is written to again after this share of its time-out.</summary>
    internal const double WriteAgainAfter = 1.0 / 3;

    /// <summary>The budget of every port.</summary>
    public static IReadOnlyList<PortBudget> Of(MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        return [.. machine.Ports.Select((port, index) => OfPort(index, port, [.. machine.Axes.Select((axis, at) => (at, axis)).Where(entry => entry.axis.Port == index)],
            [.. machine.Modules.Where(module => module.Port == index)], machine.Interlocks))];
    }

    internal static PortBudget OfPort(
        int index, PortDefinition port, IReadOnlyList<(int Index, AxisDefinition Axis)> axes, IReadOnlyList<ModuleDefinition> modules, IReadOnlyList<InterlockDefinition> interlocks)
    {
        var line = new LineTiming(port);
        var units = axes.Select(entry => new UnitTimes(UnitFrames.Of(entry.Axis.Drive), entry.Axis.Drive.Wire.Turnaround + line.SendDelay, port, line))
            .Concat(modules.Select(module => new UnitTimes(UnitFrames.Of(module), module.Turnaround + line.SendDelay, port, line)))
            .ToArray();
        var reached = Sum(units.Select(unit => unit.Usual));
        var ramps = axes.Select((entry, unit) => BrakesOnGivenRamp(entry.Index, entry.Axis.Drive, interlocks) ? units[unit].Ramp : TimeSpan.Zero).ToArray();
        var budgets = axes.Select((entry, unit) => OfAxis(entry.Index, entry.Axis, unit, units, ramps, axes, port, line));
        ModuleBudget[] read = [.. modules.Select((module, at) => OfModule(module, units[axes.Count + at], line))];
        var use = axes.Count > 0 ? reached / port.Cycle : read.Sum(module => module.Read / module.Poll);
        return new PortBudget(index, reached, Sum(units.Select(unit => unit.Full)), use, [.. budgets])
        {
            Requests = units.Sum(unit => unit.Frames.UsualFrames),
            Modules = read,
        };
    }

    /// <summary>Shortest time-out of the drive that the line's legal silence allows.</summary>
    internal static TimeSpan LeastTimeout(AxisBudget budget, DriveDefinition drive)
    {
        var least = budget.LegalSilence + Pause;
        return drive.CommunicationTimeout?.FedBy == TimeoutFeed.Write ? least / (1 - WriteAgainAfter) : least;
    }

    private static ModuleBudget OfModule(ModuleDefinition module, in UnitTimes unit, LineTiming line) => new(
        module.Name, unit.Frames.Usual * line.BitsPerCharacter, unit.Usual,
        line.Characters(UnitFrames.PollOf(module)) + module.Turnaround + line.SendDelay + line.Gap, module.Poll);

    private static AxisBudget OfAxis(
        int index, AxisDefinition axis, int at, UnitTimes[] units, TimeSpan[] ramps, IReadOnlyList<(int Index, AxisDefinition Axis)> axes, PortDefinition port, LineTiming line)
    {
        var others = units.Where((_, unit) => unit != at).ToArray();
        var unanswered = Sum(others.Select(unit => unit.Unanswered));
        var inProgress = Longest(others.Select(unit => unit.Unanswered));

        // Its own repeats end with the cycle; then its turn comes anew.
        var own = Shorter(units[at].Unanswered * port.Retries, port.Cycle);

        // Each other unit may cost a time-out before it goes behind those that answer. A port that falls behind by more than a cycle skips
        // cycles: an overrun, which is counted and told, and no longer legal.
        var legal = port.Cycle + Shorter(unanswered, port.Cycle) + inProgress + own;
        var toStop = ToStopFrame(axis, index, units, ramps, axes, line);
        return new AxisBudget(
            index, units[at].Frames.Usual * line.BitsPerCharacter, units[at].Usual, units[at].Full, legal, port.Cycle + unanswered + inProgress + own,
            toStop, StoppingDistance(axis, toStop));
    }

    /// <summary>A stop of category 2 is a halt, which every drive brakes on the ramp it was given; one with bits of its own stops so in any category.</summary>
    private static bool BrakesOnGivenRamp(int index, DriveDefinition drive, IReadOnlyList<InterlockDefinition> interlocks) =>
        drive.Coding != StateCoding.Cia402 || interlocks.Any(interlock => interlock.StopCategory == 2 && interlock.Axes.Contains(index));

    /// <summary>
    /// A transaction that is on the line, stops of axes that go before with their ramps, its own; and one response time-out, wherever it costs most: in what is on
    /// the line, in a stop or ramp that goes before, or in its own ramp. That goes out once more behind the stops of all others, and its answer may be put down to
    /// the one that was lost: a second time-out.
    /// </summary>
    private static TimeSpan ToStopFrame(
        AxisDefinition axis, int index, UnitTimes[] units, TimeSpan[] ramps, IReadOnlyList<(int Index, AxisDefinition Axis)> axes, LineTiming line)
    {
        var (before, after, own, lost) = (TimeSpan.Zero, TimeSpan.Zero, 0, TimeSpan.Zero);
        for (var i = 0; i < axes.Count; i++)
        {
            var (otherIndex, other) = axes[i];
            var stop = ramps[i] + units[i].Stop;
            if (otherIndex == index)
            {
                own = i;
            }
            else if (other.GravityLoaded == axis.GravityLoaded ? otherIndex < index : other.GravityLoaded)
            {
                before += stop;
                lost = Later(lost, units[i].LostAnswer);
            }
            else
            {
                after += stop;
            }
        }

        var busy = Later(Longest(units.Select(unit => unit.Answered)), LookInterval);
        var frame = line.SendDelay + line.Characters(units[own].Frames.StopRequest);
        var onTheLine = Later(Longest(units.Select(unit => unit.Unanswered)), LookInterval) + before + ramps[own];
        var ofOneBefore = busy + before + lost + ramps[own];
        var ofItsRamp = ramps[own] == TimeSpan.Zero ? TimeSpan.Zero : busy + before + after + (2 * (ramps[own] + units[own].LostAnswer));
        return Later(onTheLine, Later(ofOneBefore, ofItsRamp)) + frame;
    }

    private static double StoppingDistance(AxisDefinition axis, TimeSpan reaction)
    {
        var limits = axis.Limits;
        var ramp = limits.Jerk is { } jerk
            ? StopCalculation.StoppingDistance(limits.Velocity, limits.Deceleration, jerk)
            : StopCalculation.StoppingDistance(limits.Velocity, limits.Deceleration);
        return (limits.Velocity * reaction.TotalSeconds) + ramp;
    }

    private static TimeSpan Sum(IEnumerable<TimeSpan> times) => times.Aggregate(TimeSpan.Zero, (sum, time) => sum + time);

    private static TimeSpan Longest(IEnumerable<TimeSpan> times) => times.DefaultIfEmpty(TimeSpan.Zero).Max();

    private static TimeSpan Later(TimeSpan a, TimeSpan b) => a > b ? a : b;

    private static TimeSpan Shorter(TimeSpan a, TimeSpan b) => a < b ? a : b;

    /// <summary>A unit's frames on a line in time.</summary>
    private readonly struct UnitTimes(UnitFrames frames, TimeSpan turnaround, PortDefinition port, LineTiming line)
    {
        public UnitFrames Frames => frames;

        public TimeSpan Usual => line.Characters(frames.Usual) + (frames.UsualFrames * (turnaround + line.Gap));

        public TimeSpan Full => line.Characters(frames.Full) + (frames.FullFrames * (turnaround + line.Gap));

        /// <summary>The longest request without an answer.</summary>
        public TimeSpan Unanswered => line.Characters(frames.LongestRequest) + port.ResponseTimeout + turnaround + line.Gap;

        /// <summary>The longest request with the longest answer, which is not waited for any longer than one that does not come.</summary>
        public TimeSpan Answered => Shorter(line.Characters(frames.LongestRequest + frames.LongestReply) + turnaround + line.Gap, Unanswered);

        /// <summary>What it costs more where a write is not answered.</summary>
        public TimeSpan LostAnswer => port.ResponseTimeout - line.Characters(UnitFrames.WriteReply);

        /// <summary>The ramp ahead of the stop, answered; none where no frame brings it.</summary>
        public TimeSpan Ramp => frames.RampRequest == 0 ? TimeSpan.Zero : line.Characters(frames.RampRequest + UnitFrames.WriteReply) + turnaround + line.Gap;

        /// <summary>The stop, answered.</summary>
        public TimeSpan Stop => line.Characters(frames.StopRequest + UnitFrames.WriteReply) + turnaround + line.Gap;
    }
}
