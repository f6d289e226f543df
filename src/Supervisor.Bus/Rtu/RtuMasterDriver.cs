using Supervisor.Bus.Links;

namespace Supervisor.Bus.Rtu;

/// <summary>Runs transactions of a master over a link on the calling thread. Nothing is allocated per transaction.</summary>
/// <param name="master">The step machine; it outlives a link that was reopened, since late replies may outlive it too.</param>
/// <param name="link">The open link.</param>
/// <param name="clock">The clock the link's deadlines are on.</param>
/// <param name="isWanted">Asked last, when the line is quiet and the first byte is about to go: a request that is no longer wanted is withdrawn. Null: all are.</param>
public sealed class RtuMasterDriver(RtuMaster master, ILink link, IMonotonicClock clock, Func<bool>? isWanted = null)
{
    private readonly byte[] _waste = new byte[Transaction.MaximumFrameBytes];

    /// <summary>
    /// Runs one attempt to its end and returns its result. Blocks from now to <see cref="RtuMaster.EarliestStart"/>, then for at most the frame's
    /// time on the wire plus the reply time-out: who must not block asks for the earliest start first.
    /// </summary>
    public TransactionResult Run(Transaction transaction)
    {
        ArgumentNullException.ThrowIfNull(transaction);
        master.Begin(transaction, clock.Now);
        while (true)
        {
            var step = master.Next(clock.Now);
            switch (step.Action)
            {
                case MasterAction.Discard:
                    Discard(step.Until);
                    break;
                case MasterAction.Send:
                    Send(transaction, step.Until);
                    break;
                case MasterAction.Listen:
                    Listen(step.Until);
                    break;
                default:
                    return transaction.Result;
            }
        }
    }

    private void Discard(TimeSpan until)
    {
        var status = link.Read(_waste, until, out var count);
        if (status == LinkStatus.Gone)
        {
            master.LinkGone(clock.Now);
            return;
        }

        master.Discarded(count, clock.Now);
    }

    private void Send(Transaction transaction, TimeSpan until)
    {
        // The clock before the look: what was known by then is seen.
        var begunAt = clock.Now;
        if (isWanted is not null && !isWanted())
        {
            master.Withdraw(begunAt);
            return;
        }

        switch (link.Write(transaction.RequestFrame, until))
        {
            case LinkStatus.Ok:
                master.Sent(begunAt, clock.Now);
                break;
            case LinkStatus.TimedOut:
                master.NotSent(begunAt, clock.Now);
                break;
            default:
                master.LinkGone(clock.Now);
                break;
        }
    }

    private void Listen(TimeSpan until)
    {
        switch (link.Read(master.Space, until, out var count))
        {
            case LinkStatus.Ok:
                master.Received(count, clock.Now);
                break;
            case LinkStatus.TimedOut:
                master.Silent(clock.Now);
                break;
            default:
                master.LinkGone(clock.Now);
                break;
        }
    }
}
