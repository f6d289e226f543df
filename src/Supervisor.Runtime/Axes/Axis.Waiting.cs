using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Axes;

/// <content>
/// A move that waits for the running one: at most one, and only behind a move that arrives. It is taken when it is given, begins at the
/// rest in which the running one arrived, and ends with it where that ends in any other way.
/// </content>
public sealed partial class Axis
{
    private AxisCommand _waiting;
    private ulong _waitedId;

    private Refusal RefuseWaiting(in AxisCommand command)
    {
        if (!command.Shape.AfterCurrent)
        {
            return Refusal.None;
        }

        return _node == AxisNode.Halting || (_node == AxisNode.Running && !_inHand.Arrives) ? Refusal.AxisBusy
            : _waiting.Id != 0 ? Refusal.AlreadyWaiting
            : Refusal.None;
    }

    private void Wait(in AxisCommand command, TimeSpan now)
    {
        _waiting = command;
        Report(new AxisReport(command.Id, Index, Outcome.None, Refusal.None, FaultCode.None, 0, now));
    }

    /// <summary>The running move has arrived. What was good when it was given may have become impossible: then it is replaced by what stands in its way.</summary>
    private void BeginWaiting(TimeSpan now)
    {
        if (_waiting.Id == 0)
        {
            return;
        }

        var next = _waiting;
        _waiting = default;
        var refusal = next.StopEpoch != _board.Latch.StopEpoch(Index) ? Refusal.Stopped : Refuse(next, now, out _refusedValue);
        if (refusal != Refusal.None)
        {
            Report(new AxisReport(next.Id, Index, Outcome.Replaced, refusal, FaultCode.None, _refusedValue, now));
            return;
        }

        _given = next;
        _waitedId = next.Id;
        _contactPosition = 0;
        BeginMove(next, now);
    }

    private void EndWaiting(Outcome outcome, Refusal refusal, FaultCode fault, TimeSpan now)
    {
        if (_waiting.Id != 0)
        {
            Report(new AxisReport(_waiting.Id, Index, outcome, refusal, fault, 0, now));
            _waiting = default;
        }
    }
}
