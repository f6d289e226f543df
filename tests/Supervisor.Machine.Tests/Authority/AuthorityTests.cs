using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Authority;

public sealed class AuthorityTests
{
    private static readonly MoveCommand Move = new([new MoveTarget(Drum, 10, false)], null);

    [Fact]
    public void TryAcquire_WhileHeld_NamesTheHolder()
    {
        var rig = MachineRig.Ready();
        Assert.Null(rig.Control.TryAcquire("night shift", out var refusal));
        MachineRig.AssertRefused(refusal!, Refusal.AuthorityHeldByAnother, "operator");
        Assert.Equal("operator", rig.Control.Status().AuthorityHolder);
    }

    [Fact]
    public void Submit_WithoutGrant_NamesTheHolder()
    {
        var rig = MachineRig.Ready();
        var ticket = rig.Control.Submit(Move, null);
        rig.Step(2);
        MachineRig.AssertRefused(MachineRig.Answer(ticket), Refusal.AuthorityHeldByAnother, "operator");
        Assert.Single(rig.Journal.Commands);
    }

    [Fact]
    public void Submit_WithAGivenBackGrant_IsRefused()
    {
        var rig = MachineRig.Ready();
        rig.Grant!.Dispose();
        MachineRig.AssertRefused(rig.Do(Move), Refusal.NoAuthority, "acquire");
        using var other = rig.Control.TryAcquire("night shift", out _);
        MachineRig.AssertRefused(rig.Do(Move), Refusal.AuthorityHeldByAnother, "night shift");
        Assert.Empty(rig.Axis(Drum).Taken);
    }

    [Fact]
    public void Dispose_StopsWhatStillMoves_AndTheMoveEndsByIt()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        var move = rig.Submit(Move);
        rig.Step(3);
        rig.Grant!.Dispose();
        rig.Step(3);
        var answer = MachineRig.Answer(move);
        Assert.Equal((Outcome.Replaced, Refusal.AuthorityLost), (answer.Outcome, answer.Refusal));
        Assert.Contains("operator", answer.Message, StringComparison.Ordinal);
        Assert.Equal(AxisState.Ready, rig.Axis(Drum).Now.State);
    }

    [Fact]
    public void Dispose_BeforeTheCommandWasLookedAt_NeverBeginsIt()
    {
        var rig = MachineRig.Ready();
        var move = rig.Submit(Move);
        rig.Grant!.Dispose();
        rig.Step(3);
        MachineRig.AssertRefused(MachineRig.Answer(move), Refusal.AuthorityLost, "operator");
        Assert.Empty(rig.Axis(Drum).Taken);
    }

    [Fact]
    public void Dispose_BetweenTwoHomingOrders_NeverBeginsTheNext()
    {
        var rig = MachineRig.Started();
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        var home = rig.Submit(new HomeCommand([]));
        rig.Step(3);
        rig.Grant!.Dispose();
        rig.Run(100);
        Assert.Equal(Refusal.AuthorityLost, MachineRig.Answer(home).Refusal);
        Assert.Empty(rig.Axis(Gantry).Taken);
    }

    [Fact]
    public void Dispose_LeavesADisableToItsEnd()
    {
        var rig = MachineRig.Ready();
        var disable = rig.Submit(new DisableCommand([Drum]));
        rig.Grant!.Dispose();
        rig.Step(5);
        Assert.Equal(Outcome.Done, MachineRig.Answer(disable).Outcome);
    }

    [Fact]
    public void Release_WithoutStop_LetsTheMoveRunToItsEnd()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        var move = rig.Submit(Move);
        rig.Step(3);
        rig.Grant!.Release(stopAxes: false);
        rig.Grant.Dispose();
        rig.Step(3);
        rig.PortOf(Drum).Finish(Drum);
        rig.Step();
        Assert.Equal(Outcome.Done, MachineRig.Answer(move).Outcome);
        Assert.Null(rig.Control.Status().AuthorityHolder);
    }

    [Fact]
    public void NextHolder_AtOnce_IsNotStoppedForTheLast()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        var first = rig.Submit(Move);
        rig.Step(3);
        rig.Grant!.Dispose();
        using var next = rig.Control.TryAcquire("night shift", out _);
        rig.Ports[1].ReadsMailbox = false;
        rig.Step();
        rig.Ports[1].ReadsMailbox = true;
        var second = rig.Control.Submit(Move, next);
        rig.Step(3);
        Assert.Equal(Refusal.AuthorityLost, MachineRig.Answer(first).Refusal);
        Assert.False(second.Completion.IsCompleted);
        Assert.Equal(second.Id, rig.Axis(Drum).InHand.Id);
    }

    [Fact]
    public async Task TryAcquire_FromManyThreads_GivesOneGrantAtATime()
    {
        var rig = MachineRig.Ready();
        rig.Grant!.Dispose();
        var holders = 0;
        var grants = 0;
        var clashes = 0;
        await Task.WhenAll(Enumerable.Range(0, 4).Select(worker => Task.Run(() =>
        {
            for (var i = 0; i < 2000; i++)
            {
                using var grant = rig.Control.TryAcquire($"worker {worker}", out _);
                if (grant is not null)
                {
                    if (Interlocked.Increment(ref holders) != 1)
                    {
                        Interlocked.Increment(ref clashes);
                    }

                    Thread.SpinWait(50);
                    Interlocked.Decrement(ref holders);
                    Interlocked.Increment(ref grants);
                }
            }
        }, TestContext.Current.CancellationToken)));
        Assert.Equal(0, clashes);
        Assert.True(grants > 0);
    }
}
