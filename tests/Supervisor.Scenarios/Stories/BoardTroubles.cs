using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stories;

/// <summary>What befalls the board the supervisor runs on: a disk that fills, fails or is in doubt; a clock that jumps; ends in order, crashes, restarts of the board.</summary>
public sealed class BoardTroubles(StoryWorld world, Dice dice, People people)
{
    public void FillDisk()
    {
        world.Happen("disk filled");
        world.Disk.IsFull = true;
        world.Queue.After(dice.Seconds(1, 30), () => world.Disk.IsFull = false);
    }

    public void FailDisk()
    {
        world.Happen("disk failed");
        world.Disk.IsFailing = true;
        world.Queue.After(dice.Seconds(0.05, 10), () => world.Disk.IsFailing = false);
    }

    /// <summary>For a while the disk stores and says that it has not.</summary>
    public void DoubtDisk()
    {
        world.Happen("disk in doubt");
        world.Disk.DoubtfulCommits = dice.Between(0.05, 0.8);
        world.Queue.After(dice.Seconds(1, 20), () => world.Disk.DoubtfulCommits = 0);
    }

    /// <summary>The coordinator's thread gets no time for a while; the ports go on.</summary>
    public void HoldUpCoordinator()
    {
        if (world.Supervisor is { } supervisor)
        {
            world.Happen("coordinator held up");
            supervisor.IsHeldUp = true;
            world.Queue.After(dice.Chance(0.7) ? dice.Seconds(0.01, 0.2) : dice.Seconds(0.2, 3), () => supervisor.IsHeldUp = false);
        }
    }

    public void JumpClock()
    {
        world.Happen("clock jumped");
        world.Clock.Jump(dice.Chance(0.5) ? dice.Seconds(-2, 2) : dice.Seconds(-3e8, 3e8));
    }

    /// <summary>The supervisor ends in order, crashes, or its board starts again; another takes over the drives as they are.</summary>
    public void RestartSupervisor()
    {
        if (world.Supervisor is not { } supervisor || supervisor.Coordinator.ShutDown.IsBegun)
        {
            return;
        }

        switch (dice.Below(4))
        {
            case 0 or 1:
                world.Happen("supervisor shut down");
                supervisor.Coordinator.BeginShutDown(world.Queue.Now);
                AwaitShutDown(supervisor);
                break;
            case 2:
                world.Happen("supervisor crashed");
                Crash(supervisor);
                break;
            default:
                world.Happen("board restarted");
                Crash(supervisor);
                world.Notes.Reboot();
                break;
        }
    }

    /// <summary>The supervisor crashes; another takes over the drives as they are.</summary>
    public void CrashSupervisor()
    {
        if (world.Supervisor is { } supervisor)
        {
            world.Happen("supervisor crashed");
            Crash(supervisor);
        }
    }

    /// <summary>The supply of the whole machine dips: drives restart or trip, and the board may start again with them.</summary>
    public void LoseSupervisorToADip()
    {
        if (world.Supervisor is { } supervisor && dice.Chance(0.4))
        {
            world.Happen("board restarted");
            Crash(supervisor);
            world.Notes.Reboot();
        }
    }

    private void AwaitShutDown(SupervisorProcess supervisor)
    {
        if (world.Supervisor != supervisor)
        {
            return;
        }

        if (supervisor.Coordinator.ShutDown is { IsStopped: false, IsOverdue: false })
        {
            world.Queue.After(TimeSpan.FromMilliseconds(20), () => AwaitShutDown(supervisor));
            return;
        }

        supervisor.Coordinator.Close();
        world.Notes.Write(supervisor);
        var history = world.History!;
        End();
        history.Stop(world.Queue.Now);
    }

    private void Crash(SupervisorProcess supervisor)
    {
        if (world.Supervisor == supervisor)
        {
            world.History!.Kill();
            End();
        }
    }

    private void End()
    {
        world.Kill();
        people.Disconnect();
        world.Queue.After(dice.Chance(0.5) ? dice.Seconds(0.02, 0.5) : dice.Seconds(0.5, 15), world.Start);
    }
}
