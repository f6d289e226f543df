using Supervisor.Bus.Links;

namespace Supervisor.Bus.Rtu;

/// <summary>The asking side of a line as a step machine: one attempt of one transaction at a time, no I/O, no clock, no allocation.</summary>
public sealed class RtuMaster(LineSettings line)
{
    /// <summary>Settings of the line it speaks on.</summary>
    public LineSettings Line { get; } = line;

    /// <summary>
    /// Earliest time at which <paramref name="transaction"/> may be sent: after the silence between frames, and, when an earlier request
    /// with a reply of the same shape went unanswered by the same unit, after the time in which that late reply could still be taken for this one's.
    /// </summary>
    public TimeSpan EarliestStart(Transaction transaction, TimeSpan now) => throw new NotImplementedException();
}
