using Supervisor.Bus.Rtu;
using Supervisor.Drives;
using Supervisor.Records.Tracing;

namespace Supervisor.Runtime.Axes;

/// <content>What it writes into its port's ring: one sample a cycle at least, whatever became of the exchange.</content>
public sealed partial class Axis
{
    private uint _cycle;
    private ushort _replyTime;
    private byte _misses;
    private ExchangeResult _lastResult;
    private double _behind = double.NaN;

    private void NoteExchange(Transaction transaction)
    {
        _replyTime = (ushort)Math.Clamp((transaction.EndedAt - transaction.BegunAt) / TraceSample.ReplyTimeStep, 0, ushort.MaxValue);
        _lastResult = transaction.Result switch
        {
            TransactionResult.Reply => ExchangeResult.Good,
            TransactionResult.ExceptionReply => ExchangeResult.Refused,
            TransactionResult.Garbled => ExchangeResult.Garbled,
            _ => ExchangeResult.NoReply,
        };
    }

    private void NoteMiss() => _misses = _misses < byte.MaxValue ? (byte)(_misses + 1) : _misses;

    private void Trace(ExchangeResult result, TimeSpan now)
    {
        var flags = (Online ? TraceFlags.Online : TraceFlags.None)
            | (_feedback.Has(DriveFlags.Powered) ? TraceFlags.TorqueOn : TraceFlags.None)
            | (CountsAsReferenced ? TraceFlags.Referenced : TraceFlags.None)
            | (_feedback.Has(DriveFlags.Fault) ? TraceFlags.DriveFault : TraceFlags.None);
        _board.Traces[Definition.Port].Write(new TraceSample
        {
            At = now,
            CommandedPosition = _scale.ToUnit(_targetCounts),
            Position = _isPlaceUnknown ? double.NaN : Position,
            Velocity = (float)_velocity,
            Torque = (float)Torque,
            FollowingError = (float)(double.IsNaN(_feedback.FollowingErrorCounts) ? _behind : _scale.ToUnit(_feedback.FollowingErrorCounts)),
            Inputs = _feedback.Inputs,
            Cycle = _cycle,
            Axis = Index,
            Fault = _fault,
            ReplyTime = _replyTime,
            State = _node.State(),
            Detail = _node.Detail(),
            Flags = flags,
            Result = result,
            Misses = _misses,
        });
    }
}
