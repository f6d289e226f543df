using Supervisor.Configuration.Machines;

namespace Supervisor.Scenarios.World;

/// <summary>Invented machines, written as files and read as users' files are.</summary>
public static class Machines
{
    /// <summary>Two endless axes on two fast ports under one process interlock of stop category 2.</summary>
    public static MachineDefinition TwoPorts() => Read("""
        { "machine": { "name": "Two carriers" },
          "ports": [
            { "name": "line-a", "device": "/dev/ttyS0", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 12, "gap": "proportional", "responseTimeoutMs": 5, "retries": 1 },
            { "name": "line-b", "device": "/dev/ttyS1", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 12, "gap": "proportional", "responseTimeoutMs": 5, "retries": 1 } ],
          "axes": [
            { "name": "left", "port": "line-a", "address": 1, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 100, "endless": { "period": 1000 },
              "limits": { "velocity": 400, "acceleration": 8000, "deceleration": 8000 }, "inPosition": { "window": 0.5, "dwellMs": 10 }, "reference": "none", "communicationTimeoutMs": 250 },
            { "name": "right", "port": "line-b", "address": 1, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 100, "endless": { "period": 1000 },
              "limits": { "velocity": 400, "acceleration": 8000, "deceleration": 8000 }, "inPosition": { "window": 0.5, "dwellMs": 10 }, "reference": "none", "communicationTimeoutMs": 250 } ],
          "interlocks": [
            { "name": "vacuum", "kind": "process", "inputs": ["left.input1"], "stopCategory": 2, "axes": "all" } ] }
        """);

    /// <summary>Reads a machine file beside the demo's definitions and others given here.</summary>
    public static MachineDefinition Read(string json, params (string Name, string Text)[] definitions)
    {
        var demo = Path.Combine(AppContext.BaseDirectory, "demo");
        var folder = Directory.CreateTempSubdirectory("scenario-");
        try
        {
            File.Copy(Path.Combine(demo, "reference.drive.json"), Path.Combine(folder.FullName, "reference.drive.json"));
            foreach (var (name, text) in definitions)
            {
                File.WriteAllText(Path.Combine(folder.FullName, name), text);
            }

            var path = Path.Combine(folder.FullName, "machine.json");
            File.WriteAllText(path, json);
            var result = MachineFile.Read(path);
            Assert.Empty(result.Errors);
            return result.Value!;
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }
}
