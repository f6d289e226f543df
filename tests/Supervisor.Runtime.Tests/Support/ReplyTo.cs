using Supervisor.Bus.Rtu;

namespace Supervisor.Runtime.Tests.Support;

/// <summary>One transaction answered by a drive moved by hand.</summary>
internal sealed class ReplyTo
{
    private readonly RtuSlave _slave = new();
    private readonly byte[] _reply = new byte[256];

    public ReplyTo(HandDrive drive) => _slave.Serve(1, drive);

    public Transaction Transaction { get; } = new() { ReplyTimeout = TimeSpan.FromMilliseconds(10) };

    public void Answer()
    {
        Transaction.Begin(TimeSpan.Zero);
        var length = _slave.Answer(Transaction.RequestFrame, _reply);
        Assert.Equal(TransactionResult.Reply, Transaction.Accept(_reply.AsSpan(0, length), TimeSpan.Zero));
    }
}
