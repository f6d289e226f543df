using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Commands;

namespace Supervisor.Machine.Tests;

public sealed class ManyClientsTests
{
    [Fact]
    public async Task Submit_FromManyThreads_EveryCommandEndsOnceUnderItsOwnId()
    {
        const int clients = 4;
        const int commands = 300;
        var rig = MachineRig.Ready();
        var work = Enumerable.Range(0, clients).Select(client => Task.Run(
            async () =>
            {
                var ids = new List<ulong>();
                for (var i = 0; i < commands; i++)
                {
                    MachineCommand command = i % 3 == 0 ? new StopCommand([client]) : new MoveCommand([new MoveTarget(client, i % 100, false)], null);
                    var ticket = rig.Control.Submit(command, rig.Grant);
                    var answer = await ticket.Completion;
                    Assert.Equal(ticket.Id, answer.Id);
                    Assert.True(ticket.Accepted.IsCompleted);
                    ids.Add(ticket.Id);
                    _ = rig.Control.Status();
                }

                return ids;
            },
            TestContext.Current.CancellationToken)).ToArray();

        var all = Task.WhenAll(work);
        while (!all.IsCompleted)
        {
            rig.Step();
            Thread.Yield();
        }

        var ids = (await all).SelectMany(own => own).ToArray();
        Assert.Equal(clients * commands, ids.Distinct().Count());
        Assert.DoesNotContain(rig.Journal.Commands, entry => entry.Answer.Outcome == Outcome.Failed);
    }

    [Fact]
    public void Completion_SeenByAnotherThread_FindsAcceptanceTold()
    {
        var rig = MachineRig.Ready();
        CommandTicket? watched = null;
        var early = 0;
        var isEnding = false;
        var watcher = new Thread(() =>
        {
            while (!Volatile.Read(ref isEnding))
            {
                if (Volatile.Read(ref watched) is { Completion.IsCompleted: true } ticket && !ticket.Accepted.IsCompleted)
                {
                    Interlocked.Increment(ref early);
                }
            }
        });
        watcher.Start();
        for (var i = 0; i < 5_000; i++)
        {
            // Refused at once: its acceptance is told by its end.
            Volatile.Write(ref watched, rig.Control.Submit(new EnableCommand([0]), grant: null));
            rig.Step();
        }

        Volatile.Write(ref isEnding, true);
        watcher.Join();
        Assert.Equal(0, early);
    }
}
