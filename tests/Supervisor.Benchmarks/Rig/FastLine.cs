namespace Supervisor.Benchmarks.Rig;

/// <summary>The machine files of the suites.</summary>
internal static class FastLine
{
    /// <summary>Endless axes that speed up and stop within milliseconds, all under one process interlock of stop category 2.</summary>
    public static string Machine(int axes, int baud, double cycleMs) => $$"""
        { "machine": { "name": "Carriers" },
          "ports": [ { "name": "line", "device": "line", "baud": {{baud}}, "parity": "none", "stopBits": 1, "cycleMs": {{cycleMs}}, "gap": "proportional", "responseTimeoutMs": {{cycleMs * 0.9}}, "retries": 1,
                       "errorRate": { "warningPercent": 99, "faultPercent": 100 } } ],
          "axes": [ {{string.Join(", ", Enumerable.Range(1, axes).Select(Axis))}} ],
          "interlocks": [ { "name": "vacuum", "kind": "process", "inputs": ["axis 1.input1"], "stopCategory": 2, "axes": "all", "staleMs": 10000 } ] }
        """;

    // A computer that stalls must not end the run: the drives and the port wait long, and replies that it lost stop no axis.
    private static string Axis(int number) => $$"""
        { "name": "axis {{number}}", "port": "line", "address": {{number}}, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 100, "endless": { "period": 10000 },
          "limits": { "velocity": 400, "acceleration": 80000, "deceleration": 80000 }, "inPosition": { "window": 1, "dwellMs": 5 }, "reference": "none", "communicationTimeoutMs": 20000 }
        """;
}
