using Supervisor.Simulation.Drives.Motion;

namespace Supervisor.Simulation.Drives.Cia402;

/// <summary>Mode 6: runs while controlword bit 4 is up; tells its outcome in statusword bits 10, 12 and 13.</summary>
internal sealed class HomingMode(ServoAxis axis, CommandedMotion commanded)
{
    private const ushort Start = 0x10;
    private const ushort Halt = 0x100;

    /// <summary>Bits 10, 12 and 13 (mask 3400h): 0000 running, 0400 interrupted or not started, 1000 attained, 1400 done, 2000 error moving, 2400 error at rest.</summary>
    public ushort StatusBits
    {
        get
        {
            ushort standing = axis.Trajectory.IsStanding ? (ushort)0x0400 : (ushort)0;
            return axis.Homing.Phase switch
            {
                HomingPhase.Idle => standing,
                HomingPhase.Settle => 0x1000,
                HomingPhase.Done => 0x1400,
                HomingPhase.Failed => (ushort)(0x2000 | standing),
                _ => 0,
            };
        }
    }

    /// <summary>Forgets the last outcome; on entering the mode.</summary>
    public void Clear() => axis.Homing.Abandon();

    /// <summary>One step in operation enabled. True when it begins to look for its zero.</summary>
    public bool Step(ushort controlword, bool start)
    {
        if (axis.Homing.IsRunning)
        {
            if ((controlword & Start) == 0 || (controlword & Halt) != 0)
            {
                axis.Homing.Abandon();
                axis.Stop(commanded.Deceleration);
            }
        }
        else if (start && (controlword & Halt) == 0)
        {
            return commanded.BeginHoming(axis);
        }

        return false;
    }
}
